"""Retuned strings as scores print them in words: "Scordatura: G = F#", "scord. G-D-A-Eb"."""

import re
from collections.abc import Sequence

from orchq.knowledge import InstrumentString
from orchq.notation import Pitch
from orchq.readers.pitches import spelled

_NUMERALS = {"I": 1, "II": 2, "III": 3, "IV": 4, "V": 5, "VI": 6}
_SIGNS = {"": 0, "#": 1, "♯": 1, "b": -1, "♭": -1}
_NOTE = r"([A-G])([#♯b♭]?)(?![\w#♯♭])"
_ONE = re.compile(
    # Between a string and its note stand a sign or small words of any language.
    rf"\b(VI|IV|V|I{{1,3}}|[A-G][#b]?)(?:[ -][^\W\d_]{{3,}})?"
    rf"(?:\s*(?:=|→|->)\s*|\s+[a-zà-ÿ]{{2,4}}\s+){_NOTE}"
)
_EACH = re.compile(rf"(?<![\w#♯♭]){_NOTE}")


def retuned_in(text: str, strings: Sequence[InstrumentString]) -> tuple[tuple[int, Pitch], ...]:
    """Numbers of strings and their new pitches, as a text gives them; ``strings`` are as usual.

    A text names one string and its note, or the notes of all strings from the lowest or from the
    highest. Notes carry no octave in print: the nearest to the usual pitch is meant, and of two
    as near the lower. Nothing is returned where the text says neither.

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


def _nearest(letter: str, alteration: int, usual: Pitch) -> Pitch:
    octave = usual.midi // 12 - 1
    around = (spelled(letter, alteration, near) for near in (octave - 1, octave, octave + 1))
    return min(around, key=lambda pitch: (abs(pitch.midi - usual.midi), pitch.midi))
