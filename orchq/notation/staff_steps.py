"""Places on a staff, counted in steps: seven to the octave, whatever the accidentals; C0 is 0."""

from orchq.notation.pitch import Pitch

STEPS = "CDEFGAB"
"""The letters of an octave, upwards."""
TOP_LINE = 4
"""Steps from the middle line of a staff to the highest."""

_SIGN_ON = {"G": 4 + 7 * 4, "F": 3 + 7 * 3, "C": 7 * 4}
"""The line on which the sign of a clef stands: that of G4, F3 or C4."""


def step_of(pitch: Pitch) -> int:
    """The place of a pitch, as it is spelled.

    >>> step_of(Pitch.parse("C4")), step_of(Pitch.parse("Cb4")), step_of(Pitch.parse("B3"))
    (28, 28, 27)
    """
    step, _, octave = pitch.spelling
    return STEPS.index(step) + 7 * octave


def middle_line(clef: str) -> int | None:
    """The place of the middle line under a clef such as ``G2``; ``None`` without a pitch clef.

    >>> middle_line("G2") == step_of(Pitch.parse("B4")), middle_line("percussion")
    (True, None)
    """
    if clef[:1] not in _SIGN_ON or not clef[1:].isdecimal():
        return None
    return _SIGN_ON[clef[0]] + 2 * (3 - int(clef[1:]))


def ledger_lines_above(pitch: Pitch, clef: str, *, octaves_above: int = 0) -> int:
    """How many ledger lines a pitch has above the staff, none when negative or zero.

    ``octaves_above`` is how much higher than written the clef or instrument sounds.

    >>> ledger_lines_above(Pitch.parse("A5"), "G2"), ledger_lines_above(Pitch.parse("C6"), "G2")
    (1, 2)
    """
    middle = middle_line(clef)
    return 0 if middle is None else (step_of(pitch) - 7 * octaves_above - middle - TOP_LINE) // 2
