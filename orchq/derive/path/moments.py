"""Moments: the aspects of time and meter that affect the hand."""

from bisect import bisect_right
from typing import NamedTuple

CLASSES = (0.14, 0.22, 0.4, 0.8)
"""Boundaries of the time classes in seconds; the last class costs nothing extra."""
_STEP = 2
"""The widest step in semitones."""
_HASTE = (1.0, 0.75, 0.45, 0.2, 0.0)


class Moment(NamedTuple):
    """The circumstances of one attack, coarse enough to recur.

    ``since`` and ``lasts`` are classes of time, from 0, the shortest: since the attack before,
    and of the note itself. ``rested`` is true after a rest or at the beginning, ``slurred`` where
    a slur leads to the attack; ``weight`` is 2 on a downbeat, 1 on another quarter of the measure
    and 0 between. The line ``turns`` where it changes direction at this note, ``runs`` where it
    passes by steps in one direction, and ``leaps`` where it comes and goes by more than a step;
    ``again`` is true where the notes are those of the attack before.
    """

    since: int = 2
    lasts: int = 2
    rested: bool = False
    slurred: bool = False
    weight: int = 1
    turns: bool = False
    runs: bool = False
    leaps: bool = False
    again: bool = False

    @property
    def haste(self) -> float:
        """The haste of the move: from 1, almost no time, to 0, enough for anything."""
        return _HASTE[self.since]

    @property
    def held(self) -> float:
        """How long the note is: 0 to 1."""
        return 1.0 - _HASTE[self.lasts]


def time_class(seconds: float) -> int:
    """The class of a time in seconds.

    >>> [time_class(seconds) for seconds in (0.1, 0.3, 2.0)]
    [0, 2, 4]
    """
    return bisect_right(CLASSES, seconds)


def course(came: int, goes: int) -> tuple[bool, bool, bool]:
    """Whether a line turns, runs and leaps at a note, by the intervals to and from it in semitones.

    >>> course(2, -1), course(2, 1), course(-7, 4)
    ((True, False, False), (False, True, False), (True, False, True))
    """
    leaps = min(abs(came), abs(goes)) > _STEP
    runs = came * goes > 0 and max(abs(came), abs(goes)) <= _STEP
    return came * goes < 0, runs, leaps
