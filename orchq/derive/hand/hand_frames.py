"""The hand model: one instrument in one player's hands, as the solver needs it."""

from functools import cached_property
from typing import Literal

from msgspec import Struct

from orchq.derive.hand.grades import EffortWeights

Level = Literal["student", "orchestral", "soloist"]
Finger = Literal["T", "1", "2", "3", "4"]
FINGERS: tuple[Finger, ...] = ("T", "1", "2", "3", "4")
"""Fingers in order along the string: the thumb, where used, lies lowest."""


class Frame(Struct, frozen=True):
    """How far apart two fingers can stand along the string, in millimeters.

    ``relaxed_mm`` is the unstretched hand, ``stretched_mm`` what an orchestral player reaches,
    ``widest_mm`` what any player does; ``from_semitone`` is the height of the lower finger from
    which the frame holds; ``limit`` is the IRI of the hand span that it comes from.
    """

    low: Finger
    high: Finger
    relaxed_mm: float
    stretched_mm: float
    widest_mm: float
    from_semitone: int = 0
    limit: str = ""

    def __post_init__(self) -> None:
        if FINGERS.index(self.low) >= FINGERS.index(self.high):
            raise ValueError(f"{self.low}-{self.high}: the lower finger comes first")
        if not 0 < self.relaxed_mm <= self.stretched_mm <= self.widest_mm:
            raise ValueError(f"{self.low}-{self.high}: relaxed, stretched and widest must ascend")

    def reach_mm(self, level: Level) -> float:
        """How far a player of this level stretches: a student is not asked to stretch."""
        if level == "student":
            return self.relaxed_mm
        return self.stretched_mm if level == "orchestral" else self.widest_mm


class HandModel(Struct, frozen=True, dict=True):
    """An instrument from the point of view of the left hand.

    ``strings`` are the open strings as MIDI numbers, highest string first; ``length_mm`` is
    their vibrating length; ``highest_stop`` is the last semitone above the open string on the
    fingerboard. ``secure_semitone`` is the height up to which a player of the ``level`` places
    two fingers together without preparation. ``step_semitones`` is how many semitones one
    finger serves in the lowest position: 2 where fingers follow the scale, 1 where they stand
    a semitone apart. On ``frets`` a finger may lie across any number of strings, and no stop
    need be found by ear; with ``one_string_bow`` two strings are never bowed together.
    ``most_notes`` and ``most_stopped`` are an authority's counts,
    ``most_sustained`` how many notes one bow holds, ``forte_from`` from how many notes on a
    bowed chord wants a forte. ``weights`` are what the grades rest on. ``limits`` names, for
    each of the other fields, the limits of the graph that it rests on.
    """

    strings: tuple[int, ...]
    length_mm: float
    highest_stop: int
    frames: tuple[Frame, ...]
    secure_semitone: int
    weights: EffortWeights
    step_semitones: int = 1
    level: Level = "orchestral"
    frets: bool = False
    one_string_bow: bool = False
    most_notes: int | None = None
    most_stopped: int | None = None
    most_sustained: int | None = None
    forte_from: int | None = None
    limits: tuple[tuple[str, str], ...] = ()

    def __post_init__(self) -> None:
        if not self.strings or self.length_mm <= 0 or self.secure_semitone <= 0:
            raise ValueError("a hand model needs strings, their length and a secure height")

    def __hash__(self) -> int:
        return self._hash  # caches ask for it at every note

    @cached_property
    def _hash(self) -> int:
        return hash((self.strings, self.level, self.frames))

    def resting_on(self, field: str) -> tuple[str, ...]:
        """IRIs of the limits that the value of this field comes from."""
        return tuple(limit for name, limit in self.limits if name == field)
