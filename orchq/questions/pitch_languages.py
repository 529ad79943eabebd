"""Pitch names of German, French and Italian, rewritten as English ones.

Octaves are counted with A4 at 440 Hz: French practice counts one less.
The letter B alone is B natural; in German it is B flat, and beside names that only German has it
is refused, for nothing says which is meant.
"""

import re

from orchq.errors import OrchqError

_GERMAN = {
    "h": "h",
    **{f"{letter}is": f"{letter}#" for letter in "cdefgah"},
    **{f"{letter}isis": f"{letter}##" for letter in "cdefgah"},
    **{f"{letter}es": f"{letter}b" for letter in "cdfg"},
    **{f"{letter}eses": f"{letter}bb" for letter in "cdfgh"},
    "es": "eb",
    "as": "ab",
    "eses": "ebb",
    "ases": "abb",
    "asas": "abb",
}
_ENDS = r"(?=[',]|-?\d|[\s;+|]|$)"
_GERMAN_NAME = re.compile(
    rf"(?<![A-Za-z])({'|'.join(sorted(_GERMAN, key=len, reverse=True))}){_ENDS}", re.IGNORECASE
)
_LONE_B = re.compile(rf"(?<![A-Za-z])[Bb]{_ENDS}")
_SYLLABLES = {
    "do": "C",
    "ut": "C",
    "re": "D",
    "ré": "D",
    "mi": "E",
    "fa": "F",
    "sol": "G",
    "la": "A",
    "si": "B",
}
_SIGNS = {
    "dièse": "#",
    "diese": "#",
    "diesis": "#",
    "#": "#",
    "##": "##",
    "bémol": "b",
    "bemol": "b",
    "bemolle": "b",
    "b": "b",
    "bb": "bb",
    "bécarre": "",
    "becarre": "",
    "bequadro": "",
}
_SUNG = re.compile(
    rf"(?<![^\W\d_])({'|'.join(_SYLLABLES)})[\s-]*(double\s+|doppio\s+)?"
    rf"({'|'.join(sorted(_SIGNS, key=len, reverse=True))})?[\s-]*(?=\d)",
    re.IGNORECASE,
)


def in_english(text: str) -> str:
    """Return pitches with English names, whatever the language; what is no name stays.

    Raises ``OrchqError`` for a B beside names that only German has.

    >>> in_english("fis' H4 la4"), in_english("sol dièse 4 es'")
    ("f#' B4 A4", "G#4 eb'")
    """
    sung = _SUNG.sub(_letter, text)
    if _GERMAN_NAME.search(sung) and _LONE_B.search(sung):
        raise OrchqError(
            f"{text[:60]!r} has B beside German names: write Bb for B flat and H for B natural, or"
            " ask with --german, where B is B flat"
        )
    return _GERMAN_NAME.sub(_english, sung)


def from_german(text: str) -> str:
    """Return pitches with English names, read as German ones: B is B flat.

    >>> from_german("B3 H3 fis'")
    "Bb3 B3 f#'"
    """
    return _GERMAN_NAME.sub(_english, _LONE_B.sub(lambda match: f"{match[0]}b", text))


def _letter(match: re.Match[str]) -> str:
    sign = _SIGNS[match[3].lower()] if match[3] else ""
    return _SYLLABLES[match[1].lower()] + sign * (2 if match[2] else 1)


def _english(match: re.Match[str]) -> str:
    name = _GERMAN[match[1].lower()]
    name = f"b{name[1:]}" if name.startswith("h") else name
    return name[0].upper() + name[1:] if match[1][0].isupper() else name
