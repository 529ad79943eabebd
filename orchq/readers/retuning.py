"""Retuned strings as scores print them: "Scordatura: G = F#", "IV. Saite nach H", "sol in fa#"."""

import re
from collections.abc import Sequence

from orchq.knowledge import InstrumentString
from orchq.notation import Pitch
from orchq.readers.pitches import spelled

_NUMERALS = {"I": 1, "II": 2, "III": 3, "IV": 4, "V": 5, "VI": 6, "VII": 7}
_SYLLABLES = dict(zip(("do", "re", "mi", "fa", "sol", "la", "si"), "CDEFGAB", strict=True))
_SIGNS = {"": 0, "#": 1, "♯": 1, "is": 1, "b": -1, "♭": -1, "es": -1, "s": -1} | {
    "diesis": 1,
    "dièse": 1,
    "diese": 1,
    "bemolle": -1,
    "bémol": -1,
    "bemol": -1,
}
_WIDEST_UNASKED = 4
"""Words without a term for retuning mean one only within this interval, a third."""

_SYLLABLE = r"do|r[eé]|mi|fa|sol|la|si"
_WORD = r"(?:strings?|saiten?|corda|corde)"
_STRING = (
    rf"(?:(?P<before>{_WORD})\s+(?:de\s+|di\s+)?)?"
    rf"(?:(?P<numeral>VII|VI|IV|V|I{{1,3}})|(?P<figure>[1-7])(?:st|nd|rd|th|[eè]?me|[eaoªº°])?"
    rf"|(?P<letter>[A-GH](?:[#b♯♭]|is|es)?)|(?P<syllable>{_SYLLABLE}))\.?"
    rf"(?:[ -]*(?P<after>{_WORD}))?"
)
_LINK = (
    r"(?P<link>\s*(?:=|→|->)\s*"
    r"|\s+(?:tuned\s+|accord[ée]e?\s+|gestimmt\s+)?(?:down\s+|up\s+)?"
    r"(?P<small>to|auf|nach|zu|in|en|[aà])\s+)"
)
_NOTE = (
    r"(?:(?P<note>[A-GHa-gh])(?P<sign>[#♯b♭]|is|es|s)?"
    rf"|(?P<sung>{_SYLLABLE})[ ]*(?P<altered>[#♯b♭]|diesis|di[eè]se|bemolle|b[eé]mol)?)(?![\w#♯♭])"
)
_ONE = re.compile(
    # Between a string and its note stand a sign or small words of any language.
    r"\b(VI|IV|V|I{1,3}|[A-G][#b]?)(?:[ -][^\W\d_]{3,})?"
    r"(?:\s*(?:=|→|->)\s*|\s+[a-zà-ÿ]{2,4}\s+)([A-G])([#♯b♭]?)(?![\w#♯♭])"
)
_EACH = re.compile(r"(?<![\w#♯♭])([A-G])([#♯b♭]?)(?![\w#♯♭])")
_PHRASE = re.compile(
    rf"(?:muta|accordate|accordez|tune)?\s*(?:la\s+|the\s+|die\s+)?{_STRING}{_LINK}{_NOTE}"
    r"\s*[.,;]?\s*(?:\(.*\))?",
    re.IGNORECASE,
)


def retuned_in(text: str, strings: Sequence[InstrumentString]) -> tuple[tuple[int, Pitch], ...]:
    """Return string numbers with new pitches from a text that asks for a retuning.

    ``strings`` are as usual. A text names one string and its note, or the notes of all strings
    from the lowest or from the highest. Notes carry no octave in print: the nearest to the usual
    pitch is meant, and of two as near the lower. Returns nothing where the text names neither.

    >>> from orchq.knowledge import load
    >>> violin = load().instruments["https://w3id.org/orchq/violin"].standard.strings
    >>> [(number, pitch.name) for number, pitch in retuned_in("Scordatura: G = F#", violin)]
    [(4, 'F#3')]
    """
    single = _ONE.findall(text)
    if single:
        found = {}
        for string, letter, sign in single:
            for usual in strings:
                if string == usual.name or _NUMERALS.get(string) == usual.number:
                    found[usual.number] = _nearest(letter, _SIGNS[sign], usual.pitch)
        return tuple(sorted(found.items()))
    notes = _EACH.findall(text)
    if len(notes) != len(strings):
        return ()
    readings = [
        [
            (usual.number, _nearest(letter, _SIGNS[sign], usual.pitch), usual.pitch)
            for usual, (letter, sign) in zip(order, notes, strict=True)
        ]
        for order in (tuple(reversed(strings)), tuple(strings))
    ]
    chosen = min(readings, key=lambda way: sum(abs(new.midi - old.midi) for _, new, old in way))
    return tuple(sorted((number, new) for number, new, _ in chosen))


def retuned_unasked(
    text: str, strings: Sequence[InstrumentString]
) -> tuple[tuple[int, Pitch], ...]:
    """Return number and new pitch of a string from a text without a word for retuning.

    The whole text must be a string, a sign or small word, and a note near that of the string. A
    string is marked by the word for it, by an equals sign or arrow after its numeral or number, or
    by two syllables (do, re, mi), the second altered. German H is B natural, and B is
    B flat where the text is German.

    >>> from orchq.knowledge import load
    >>> cello = load().instruments["https://w3id.org/orchq/cello"].standard.strings
    >>> [(number, pitch.name) for number, pitch in retuned_unasked("IV. Saite nach H", cello)]
    [(4, 'B1')]
    """
    found = _PHRASE.fullmatch(text.strip())
    if found is None or not _shows_a_string(found):
        return ()
    string = _named_string(found, strings)
    if string is None:
        return ()
    german = (found["small"] or "").lower() in {"nach", "auf"} or "aite" in text
    pitch = _nearest(*_named_note(found, german=german), string.pitch)
    if not 0 < abs(pitch.midi - string.pitch.midi) <= _WIDEST_UNASKED:
        return ()
    return ((string.number, pitch),)


def _shows_a_string(found: re.Match[str]) -> bool:
    if found["before"] or found["after"]:
        return True
    if found["syllable"]:
        return found["altered"] is not None
    return found["letter"] is None and found["small"] is None


def _named_string(
    found: re.Match[str], strings: Sequence[InstrumentString]
) -> InstrumentString | None:
    if found["numeral"] or found["figure"]:
        number = _NUMERALS.get((found["numeral"] or "").upper()) or int(found["figure"] or 0)
        return next((string for string in strings if string.number == number), None)
    if found["syllable"]:
        name = _SYLLABLES[found["syllable"].lower().replace("é", "e")]
    else:
        name = found["letter"][0].upper() + found["letter"][1:].replace("♯", "#").replace("♭", "b")
    named = [string for string in strings if string.name == name]
    return named[0] if len(named) == 1 else None


def _named_note(found: re.Match[str], *, german: bool) -> tuple[str, int]:
    if found["sung"]:
        letter = _SYLLABLES[found["sung"].lower().replace("é", "e")]
        return letter, _SIGNS[(found["altered"] or "").lower()]
    letter, sign = found["note"].upper(), (found["sign"] or "").lower()
    if german and (letter, sign) == ("B", ""):
        return "B", -1
    return "B" if letter == "H" else letter, _SIGNS[sign]


def _nearest(letter: str, alteration: int, usual: Pitch) -> Pitch:
    octave = usual.midi // 12 - 1
    around = (spelled(letter, alteration, near) for near in (octave - 1, octave, octave + 1))
    return min(around, key=lambda pitch: (abs(pitch.midi - usual.midi), pitch.midi))
