"""Pitches in equal temperament: names, MIDI numbers and intervals."""

import re

from msgspec import Struct

_STEPS = {"C": 0, "D": 2, "E": 4, "F": 5, "G": 7, "A": 9, "B": 11}
_NAME = re.compile(r"([A-Ga-g])(##|#|bb|b|x)?(-?\d+)")
_ALTERS = {None: 0, "": 0, "#": 1, "##": 2, "x": 2, "b": -1, "bb": -2}
_SIGNS = {0: "", 1: "#", 2: "##", -1: "b", -2: "bb"}
_SHARP_NAMES = ("C", "C#", "D", "Eb", "E", "F", "F#", "G", "Ab", "A", "Bb", "B")


class Pitch(Struct, frozen=True, order=True):
    """A pitch with its spelling.

    ``midi`` is the semitone number (A4 is 69, C4 is 60); ``name`` is scientific notation with
    ``#`` and ``b``. Pitches are ordered by sound first.
    """

    midi: int
    name: str

    @classmethod
    def parse(cls, text: str) -> "Pitch":
        """Read scientific notation such as ``A4``, ``Bb3`` or ``F##5``.

        Raises ``ValueError`` when the text is no pitch name.

        >>> Pitch.parse("Bb3").midi
        58
        """
        match = _NAME.fullmatch(text.strip())
        if match is None:
            raise ValueError(f"{text!r} is not a pitch in scientific notation, such as A4 or Bb3")
        step, alter, octave = match.groups()
        return cls.spelled(step.upper(), _ALTERS[alter], int(octave))

    @classmethod
    def spelled(cls, step: str, alter: int, octave: int) -> "Pitch":
        """Make a pitch from letter, alteration in semitones (-2 to 2) and octave number.

        >>> Pitch.spelled("F", 1, 4)
        Pitch(midi=66, name='F#4')
        """
        return cls(12 * (octave + 1) + _STEPS[step] + alter, f"{step}{_SIGNS[alter]}{octave}")

    @classmethod
    def from_midi(cls, midi: int) -> "Pitch":
        """Give a semitone number its commonest spelling.

        >>> Pitch.from_midi(70).name
        'Bb4'
        """
        octave, step = divmod(midi, 12)
        return cls(midi, f"{_SHARP_NAMES[step]}{octave - 1}")

    @property
    def spelling(self) -> tuple[str, int, int]:
        """Letter, alteration in semitones and octave number, as the pitch is spelled.

        >>> Pitch.parse("Cb4").spelling
        ('C', -1, 4)
        """
        match = _NAME.fullmatch(self.name)
        assert match is not None
        step, alter, octave = match.groups()
        return step, _ALTERS[alter], int(octave)

    def octaves_up(self, octaves: int) -> "Pitch":
        """Return the same spelling this many octaves higher (lower when negative)."""
        step, alter, octave = self.spelling
        return Pitch.spelled(step, alter, octave + octaves)

    def __str__(self) -> str:
        return self.name
