"""Postures: every way in which the left hand can take the notes of one attack."""

from collections.abc import Callable, Iterator, Sequence
from functools import lru_cache
from itertools import product
from typing import NamedTuple

import numpy as np

from orchq.derive.hand import HandModel
from orchq.derive.hand.hand_frames import FINGERS
from orchq.derive.path.board import OCTAVE, Board, Fall, board_of

OPEN = -1
"""Stands for the finger of an open string."""
OPEN_PLACES = 9
"""While an open string sounds the hand is assumed in one of this many lowest places."""
MOST_POSTURES = 60
"""Most postures of a chord that are considered, those that stretch least."""
_CACHE = 1 << 14


class Taken(NamedTuple):
    """A note with its string, height and finger.

    ``string`` counts from 0, the highest; ``height`` is in semitones above it; ``finger`` is an
    index in ``FINGERS``, or ``OPEN``.
    """

    string: int
    height: int
    finger: int


class Posture(NamedTuple):
    """The place of the hand, the notes as taken from the lowest up, and how the fingers fall."""

    place: int
    taken: tuple[Taken, ...]
    falls: tuple[Fall, ...] = ()
    stretch: float = 0.0


class Printed(NamedTuple):
    """What is printed at one note: a string (from 0), a finger (index or ``OPEN``), a place.

    ``None`` leaves it open.
    """

    string: int | None = None
    finger: int | None = None

    def allows(self, taken: Taken) -> bool:
        """Whether a note taken so is what is printed; without a finger the thumb needs none."""
        return self.string in (None, taken.string) and self.finger in (None, taken.finger)


Demand = tuple[tuple[int, ...], tuple[Printed, ...]]
"""The notes of an attack as MIDI numbers from the lowest up, and what is printed at each."""


class Postures:
    """All postures for one attack, as arrays with a row for each.

    ``string_of`` and ``height_of`` give string and height by finger, -1 where it is free; the
    ``lone_`` arrays describe the only note, and hold -2 where there are several.
    """

    def __init__(self, pitches: tuple[int, ...], rows: Sequence[Posture]) -> None:
        self.pitches = pitches
        self.rows = tuple(rows)
        self.place = np.array([row.place for row in rows], dtype=np.int64)
        self.string_of = np.full((len(rows), len(FINGERS)), -1, dtype=np.int64)
        self.height_of = np.full((len(rows), len(FINGERS)), -1, dtype=np.int64)
        for index, row in enumerate(rows):
            for note in row.taken:
                if note.finger != OPEN:
                    self.string_of[index, note.finger] = note.string
                    self.height_of[index, note.finger] = note.height
        every = [fall for row in rows for fall in row.falls]
        owner = [index for index, row in enumerate(rows) for _ in row.falls]
        self.altered = _sums(owner, [float(fall.altered) for fall in every], len(rows))
        self.forward = _sums(owner, [float(max(fall.extended, 0)) for fall in every], len(rows))
        self.back = _sums(owner, [float(fall.extended < 0) for fall in every], len(rows))
        self.stretch = np.array([row.stretch for row in rows])
        self.high = np.array([min(note.string for note in row.taken) for row in rows])
        self.low = np.array([max(note.string for note in row.taken) for row in rows])
        self.open = np.array([sum(n.finger == OPEN for n in row.taken) for row in rows])
        lone = len(pitches) == 1
        only = [row.taken[0] if lone else Taken(-2, -2, -2) for row in rows]
        self.lone_string = np.array([note.string for note in only])
        self.lone_height = np.array([note.height for note in only])
        self.lone_finger = np.array([note.finger for note in only])
        self.labels = _labels(rows)

    def __len__(self) -> int:
        return len(self.rows)


class PostureTable:
    """The postures of one hand model, worked out once for each demand; see ``table_of``."""

    def __init__(self, model: HandModel) -> None:
        self.model = model
        self.board: Board = board_of(model)
        self.of: Callable[[Demand], Postures | None] = lru_cache(_CACHE)(self._of)

    def at(self, demand: Demand) -> Postures:
        """The postures for a demand; raises ``ValueError`` where there are none."""
        found = self.of(demand)
        if found is None:
            raise ValueError(f"no hand takes {demand[0]} as printed")
        return found

    def _of(self, demand: Demand) -> Postures | None:
        """The postures for a demand; ``None`` where no hand takes the notes so."""
        pitches, printed = demand
        rows = list(self._lone(*pitches, *printed)) if len(pitches) == 1 else self._chord(demand)
        return Postures(pitches, rows) if rows else None

    def stretch_of(self, one: Posture, other: Posture) -> float | None:
        """The widest stretch when the fingers of two postures stand at once, as ``stretch``.

        Those of the second may stand above those of the first on one string, as for a trill.
        ``None`` where they do not stand so.
        """
        both = [*_stopped(one), *_stopped(other)]
        stopped = [(note.string, note.height) for note, _ in both]
        return self._stretch(stopped, [fall for _, fall in both])

    def _lone(self, pitch: int, printed: Printed) -> Iterator[Posture]:
        for string, opened in enumerate(self.model.strings):
            height = pitch - opened
            if printed.string is None and self._is_far_up(string, height, pitch):
                continue
            if height == 0:
                note = Taken(string, 0, OPEN)
                if printed.allows(note):
                    places = range(min(OPEN_PLACES, self.board.places))
                    yield from (Posture(place, (note,)) for place in places)
            elif 0 < height <= self.model.highest_stop:
                for fall in self.board.falls(height):
                    note = Taken(string, height, fall.finger)
                    if printed.allows(note):
                        yield Posture(fall.place, (note,), (fall,))

    def _is_far_up(self, string: int, height: int, pitch: int) -> bool:
        """Whether a note lies beyond the octave though the string next but one above has it."""
        return height > OCTAVE and string >= 2 and pitch >= self.model.strings[string - 2]

    def _chord(self, demand: Demand) -> list[Posture]:
        found: list[Posture] = []
        for layout in self._layouts(demand):
            found.extend(self._held(layout, demand[1]))
        found.sort(key=lambda row: (row.stretch + len(row.falls) + _reached(row.falls), row.place))
        return found[:MOST_POSTURES]

    def _layouts(self, demand: Demand) -> Iterator[tuple[tuple[int, int], ...]]:
        """The ways to lay the notes on strings of their own, as (string, height)."""
        choices = [
            [
                (string, pitch - opened)
                for string, opened in enumerate(self.model.strings)
                if 0 <= pitch - opened <= self.model.highest_stop and each.string in (None, string)
            ]
            for pitch, each in zip(*demand, strict=True)
        ]
        for layout in product(*choices):
            strings = sorted(string for string, _ in layout)
            if len(set(strings)) == len(layout) and strings[-1] - strings[0] < len(layout):
                yield layout

    def _held(
        self, layout: tuple[tuple[int, int], ...], printed: tuple[Printed, ...]
    ) -> Iterator[Posture]:
        """The postures that hold a layout: all its fingers fall from one place of the hand."""
        stopped = [(string, height) for string, height in layout if height]
        if not stopped:
            open_notes = tuple(Taken(string, 0, OPEN) for string, _ in layout)
            if all(each.allows(note) for each, note in zip(printed, open_notes, strict=True)):
                places = range(min(OPEN_PLACES, self.board.places))
                yield from (Posture(place, open_notes) for place in places)
            return
        falls = [self.board.falls(height) for _, height in stopped]
        for place in sorted(set.intersection(*({f.place for f in row} for row in falls))):
            here = [[fall for fall in row if fall.place == place] for row in falls]
            for hand in product(*here):
                posture = self._posture(place, layout, stopped, hand)
                if posture is not None and all(
                    each.allows(note) for each, note in zip(printed, posture.taken, strict=True)
                ):
                    yield posture

    def _posture(
        self,
        place: int,
        layout: tuple[tuple[int, int], ...],
        stopped: list[tuple[int, int]],
        hand: tuple[Fall, ...],
    ) -> Posture | None:
        """The hand over a layout; ``None`` where two fingers do not stand so at once."""
        stretch = self._stretch(stopped, hand)
        if stretch is None:
            return None
        fingers = {string: fall.finger for (string, _), fall in zip(stopped, hand, strict=True)}
        taken = tuple(Taken(s, h, fingers.get(s, OPEN)) for s, h in layout)
        return Posture(place, taken, hand, stretch)

    def _stretch(self, stopped: Sequence[tuple[int, int]], hand: Sequence[Fall]) -> float | None:
        """The widest stretch between fingers; ``None`` where two do not stand so at once."""
        stretch = 0.0
        spans = self.board.spans
        for i, (string, height) in enumerate(stopped):
            for j in range(i):
                other_string, other = stopped[j]
                one, two = hand[i].finger, hand[j].finger
                if one == two and not (height == other and abs(string - other_string) == 1):
                    return None
                if (one - two) * (height - other) < 0:
                    return None
                if one != two:
                    stretch = max(stretch, float(spans[one, height, two, other]))
        return stretch if stretch < 2.0 else None


@lru_cache(32)
def table_of(model: HandModel) -> PostureTable:
    """Return the postures of a hand, the same table for equal models."""
    return PostureTable(model)


def _stopped(row: Posture) -> Iterator[tuple[Taken, Fall]]:
    """The notes that fingers stop, each with the fall of its finger."""
    return zip((note for note in row.taken if note.finger != OPEN), row.falls, strict=True)


def _reached(falls: tuple[Fall, ...]) -> float:
    return float(sum(abs(fall.extended) + fall.altered for fall in falls))


def _sums(owners: Sequence[int], values: Sequence[float], count: int) -> np.ndarray:
    return np.bincount(np.array(owners, dtype=np.int64), weights=values, minlength=count)


def _labels(rows: Sequence[Posture]) -> tuple[np.ndarray, np.ndarray]:
    """Matrices that sum rows that take the notes alike, and rows with the same strings."""
    alike = np.array([[a.taken == b.taken for b in rows] for a in rows], dtype=float)
    strings = [tuple(note.string for note in row.taken) for row in rows]
    lying = np.array([[a == b for b in strings] for a in strings], dtype=float)
    return alike, lying
