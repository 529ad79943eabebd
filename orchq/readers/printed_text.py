"""Decodes printed text as notation programs export it: mark-up, music fonts, note values, tempi.

The code points are those of SMuFL (ranges Dynamics, Metronome marks) and of Unicode's
Musical Symbols, given from memory of the standards; they decode characters and carry no knowledge
of music.
"""

import re

from orchq.exact import Fraction
from orchq.inputs import without_controls
from orchq.readers.numbers import Ticks, exact

_DYNAMICS = (
    "p m f r s z n pppppp ppppp pppp ppp pp mp mf pf ff fff ffff fffff ffffff"
    " fp fz sf sfp sfpp sfz sfzp sffz rf rfz"
)
_SMUFL_DYNAMICS = {0xE520 + place: letters for place, letters in enumerate(_DYNAMICS.split())}
_SMUFL_METRONOME = {
    0xECA2: "\U0001d15d",
    0xECA3: "\U0001d15e",
    0xECA4: "\U0001d15e",
    0xECA5: "♩",
    0xECA6: "♩",
    0xECA7: "♪",
    0xECA8: "♪",
    0xECA9: "\U0001d161",
    0xECAA: "\U0001d161",
    0xECB7: ".",
}
_DECODED = _SMUFL_DYNAMICS | _SMUFL_METRONOME

_MARKUP = re.compile(
    r"<sym>[^<]*</sym>|</?[A-Za-z][^<>]*>|^\s*[a-z-]+=\"[^\"]*\">|<[A-Za-z][^<>]*$"
)
_PRIVATE = re.compile("[\ue000-\uf8ff]")
_SPACE = re.compile(r"\s+")
_SYMBOL = re.compile(r"<sym>\s*(\w+)\s*</sym>")
_SIGNIFICANT = re.compile(r"\w")
_ANNOTATION = re.compile(r"\s*\[\d+\](?: (?:violation|warning|info): .*)?\s*", re.DOTALL)

NOTE_VALUES = {
    "maxima": Fraction(32),
    "long": Fraction(16),
    "breve": Fraction(8),
    "whole": Fraction(4),
    "half": Fraction(2),
    "quarter": Fraction(1),
    "eighth": Fraction(1, 2),
    "16th": Fraction(1, 4),
    "32nd": Fraction(1, 8),
    "64th": Fraction(1, 16),
    "128th": Fraction(1, 32),
    "256th": Fraction(1, 64),
    "512th": Fraction(1, 128),
    "1024th": Fraction(1, 256),
}
"""Lengths in quarter notes by the names of MusicXML."""

# Letters at which older music fonts place the notes.
_DRAWN = {
    "\U0001d15d": "whole",
    "w": "whole",
    "\U0001d15e": "half",
    "h": "half",
    "\U0001d15f": "quarter",
    "♩": "quarter",
    "q": "quarter",
    "\U0001d160": "eighth",
    "♪": "eighth",
    "e": "eighth",
    "\U0001d161": "16th",
    "x": "16th",
}
_TEMPO = re.compile(
    rf"(?<!\w)([{''.join(_DRAWN)}])\s*(\.?)\s*=\s*(?:c(?:a|irca)?\.?\s*)?(\d{{1,3}}(?:\.\d{{1,3}})?)"
)
_FIRST_NUMBER = re.compile(r"\d{1,4}(?:\.\d{1,6})?")


def cleaned(text: str | None) -> str:
    r"""Return text as displayed: no mark-up, music-font letters decoded, single spaces.

    >>> cleaned("4<sup>e</sup>  Corde"), cleaned("sempre \ue522\ue522")
    ('4e Corde', 'sempre ff')
    """
    plain = _MARKUP.sub("", text or "")
    plain = _PRIVATE.sub(lambda sign: _DECODED.get(ord(sign.group()), " "), plain)
    return without_controls(_SPACE.sub(" ", plain))


def symbols_in(text: str | None) -> list[str]:
    """The SMuFL names of signs that some programs embed in text as mark-up."""
    return _SYMBOL.findall(text or "")


def is_annotation(text: str) -> bool:
    """Whether a text is a numbered text of an annotated score, which asks nothing of a player.

    >>> is_annotation("[3] warning: spiccato is risky at ff"), is_annotation("[3] pizz.")
    (True, False)
    """
    return _ANNOTATION.fullmatch(text) is not None


def is_significant(text: str) -> bool:
    """Whether the text has a letter or a digit, and is more than brackets and dots."""
    return _SIGNIFICANT.search(text) is not None


def with_dots(length: Fraction, dots: int) -> Fraction:
    """The length of a note with dots."""
    return length * (2 - Fraction(1, 2**dots))


def tempo_in(text: str) -> Fraction | None:
    """Quarter notes per minute where a text prints a metronome mark, such as ``q. = 60``.

    >>> tempo_in("Allegro (♩. = c. 60)"), tempo_in("Allegro")
    (Fraction(90, 1), None)
    """
    match = _TEMPO.search(text)
    if match is None:
        return None
    drawn, dot, number = match.groups()
    return per_minute(number, with_dots(NOTE_VALUES[_DRAWN[drawn]], len(dot)))


def per_minute(text: str, beat: Fraction) -> Fraction | None:
    """Quarter notes per minute from the printed number, the first where a range is printed."""
    match = _FIRST_NUMBER.search(text)
    number = exact(match.group()) if match else None
    return Fraction(number) * beat if number and is_tempo(number * beat) else None


def is_tempo(number: Ticks) -> bool:
    """Whether a number of quarter notes per minute is a tempo; excerpts allow 1 and more.

    Programs write lower values, such as 0, for no tempo.
    """
    return number >= 1
