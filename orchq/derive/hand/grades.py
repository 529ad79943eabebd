"""The grades of shapes, and the effort that each difficulty adds.

The effort of a shape is a sum of terms none of which shrinks when a note is added or when an
open string becomes a stopped one. So the grade, the least effort over all fingerings, cannot
get better by adding a note or by stopping one.
"""

from enum import IntEnum

from msgspec import Struct


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


class EffortWeights(Struct, frozen=True):
    """The weights of the effort and the bounds of the grades.

    Each is a judged number of the graph, defined there: ``oq:judged-hand-`` and the field name
    with hyphens.
    """

    usable_from: float
    hard_from: float
    impractical_from: float
    lone_finger: float
    lower_string: float
    reach_over: float
    reach_over_from: float
    reach_over_full: float
    crossed: float
    cramped: float
    cramped_on_fret: float
    barred: float
    over_barre: float
    thumb: float
    three_stopped: float
    four_stopped: float
    stretch: float
    beyond_reach: float
    shift: float
    beyond_count: float

    def stopped_notes(self, count: int) -> float:
        """The effort that this many stopped notes at once add."""
        if count < 3:
            return 0.0
        return self.three_stopped if count == 3 else self.four_stopped


def grade_of(effort: float, weights: EffortWeights) -> Grade:
    """Return the grade of an effort; infinity means that there is no way at all."""
    if effort == float("inf"):
        return Grade.IMPOSSIBLE
    if effort > weights.impractical_from:
        return Grade.IMPRACTICAL
    if effort > weights.hard_from:
        return Grade.HARD
    return Grade.USABLE if effort >= weights.usable_from else Grade.EASY
