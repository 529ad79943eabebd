"""How hard a shape is: the grades, and what each difficulty adds to the effort.

The effort of a shape is a sum of terms none of which shrinks when a note is added or when an
open string becomes a stopped one. So the grade, the least effort over all fingerings, cannot
get better by adding a note or by stopping one. The weights are a judgement: they are placed so
that the shapes that Berlioz and Tavan print fall on the side where these authors put them, and
they say nothing about a particular hand. Player and teacher know better.
"""

from enum import IntEnum

USABLE_FROM = 0.45
"""Least effort that is no longer easy: two fingers in the lowest positions stay below it."""
HARD_FROM = 1.0
"""Effort above which a shape is hard: two fingers together above the secure height."""
IMPRACTICAL_FROM = 1.6
"""Effort above which nobody should be asked without a rehearsal of his own."""

LONE_FINGER = 0.3
"""How much of the height counts when only one note is stopped, or one at a time, on the highest
string; two fingers together count it whole."""
LOWER_STRING = 0.25
"""How much more of it counts on each lower string, which the hand must climb round to reach;
together never more than the whole."""
REACH_OVER = 0.65
"""A stop that lies higher than one on a string above it: that finger must arch over the other
string. Grows with the height; full from ``REACH_OVER_FULL`` semitones on."""
REACH_OVER_FULL = 3
CROSSED = 0.85
"""Two stops within one finger's place, the higher one on the lower string: the neighbour has to
squeeze in (the diminished fifth on instruments tuned in fifths)."""
CRAMPED = 0.85
"""Two fingers side by side at one height on neighbouring strings."""
CRAMPED_ON_FRET = 0.1
"""The same where a fret makes the pitch: the fingers need not stand quite side by side."""
BARRED = 0.2
"""One finger across two strings, or more on frets."""
THUMB = 0.15
"""The thumb stops a note."""
STOPPED_NOTES = (0.0, 0.0, 0.0, 0.12, 0.35)
"""Effort of so many stopped notes at once, from none to four; more count as four."""
STRETCH = 0.7
"""Effort of a frame stretched to the level's reach; none up to the relaxed frame."""
BEYOND_REACH = 1.7
"""Effort of a frame that only a wider hand reaches: impractical by itself."""
SHIFT = 1.2
"""Effort of moving the hand between the notes of a broken chord: hard by itself."""
BEYOND_COUNT = 1.7
"""Effort of more notes than an authority allows: impractical by itself."""
NEVER_EASY = USABLE_FROM + 1e-6
"""Least effort of stopped fourths and fifths, whose intonation is exposed."""


class Grade(IntEnum):
    """From easy to impossible, in order: a higher value is harder."""

    EASY = 0
    USABLE = 1
    HARD = 2
    IMPRACTICAL = 3
    IMPOSSIBLE = 4

    @property
    def label(self) -> str:
        """The grade in print: ``easy``, ``usable``, ``hard``, ``impractical``, ``impossible``."""
        return self.name.lower()


def grade_of(effort: float) -> Grade:
    """Return the grade of an effort; no effort, infinity, stands for no way at all.

    >>> grade_of(0.3).label
    'easy'
    """
    if effort == float("inf"):
        return Grade.IMPOSSIBLE
    if effort > IMPRACTICAL_FROM:
        return Grade.IMPRACTICAL
    if effort > HARD_FROM:
        return Grade.HARD
    return Grade.USABLE if effort >= USABLE_FROM else Grade.EASY
