"""Where fingers fall on a string: places of the hand, and what each finger takes from them.

Where a finger serves a degree of the scale, the place of the hand is its position: in the third
position the first finger falls on the third degree above the open string, the second finger on
the fourth. Where fingers stand a semitone apart, the place is the height of the first finger in
semitones.
"""

from collections.abc import Iterator
from functools import lru_cache

import numpy as np
from msgspec import Struct
from numpy.typing import NDArray

from orchq.derive.hand import Frame, HandModel, stop_mm
from orchq.derive.hand.hand_frames import FINGERS

OCTAVE = 12
"""The height in semitones of the middle of a string, where the first harmonic lies."""
THUMB = 0
"""The thumb as an index in ``FINGERS``."""
_DEGREES = 7
_STEPS = (
    ((0, False),),
    ((1, False), (0, True)),
    ((1, False), (2, True)),
    ((2, False), (1, True)),
    ((2, False), (3, True)),
    ((3, False),),
    ((3, False), (4, False)),
    ((4, False),),
    ((5, False), (4, True)),
    ((5, False), (6, True)),
    ((6, False), (5, True)),
    ((6, False),),
)
"""Degrees of the scale that each semitone above the open string can be, and whether only as an
augmented or diminished one."""


class Fall(Struct, frozen=True):
    """A finger that stops a string at some height while the hand is at a place.

    ``altered`` is true of a degree of the scale raised or lowered beyond the usual; ``extended``
    counts what the finger reaches out of the frame, negative where it reaches back.
    """

    place: int
    finger: int
    altered: bool = False
    extended: int = 0


class Board:
    """The places of one hand model and the fingers that fall at each height.

    ``stop_mm`` gives the millimeters from the nut by height; ``mm``, ``heights`` and
    ``positions`` are those of the first finger by place; ``spans`` is how hard two fingers stretch,
    by finger and height of one and the other.
    """

    def __init__(self, model: HandModel) -> None:
        self.model = model
        self.by_degree = model.step_semitones > 1
        heights = range(model.highest_stop + 1)
        self.stop_mm = [stop_mm(model.length_mm, height) for height in heights]
        self._frames = [_frames_at(model.frames, height) for height in heights]
        thumbs = [frame.from_semitone for frame in model.frames if frame.low == FINGERS[THUMB]]
        self._thumb_from = max(min(thumbs), OCTAVE // 2) if thumbs else len(heights)
        falls = self._by_degree if self.by_degree else self._by_semitone
        self._falls = [tuple(falls(height)) if height else () for height in heights]
        self.places = 1 + max(fall.place for row in self._falls for fall in row)
        self.heights = np.array([self.height(place) for place in range(self.places)])
        self.mm = np.array([stop_mm(model.length_mm, height) for height in self.heights])
        self.positions = np.array([self.position(place) for place in range(self.places)])
        self.spans = self._spans()

    def height(self, place: int) -> float:
        """Where the first finger stands at a place, in semitones above the open string."""
        return OCTAVE * place / _DEGREES if self.by_degree else float(place)

    def position(self, place: int) -> float:
        """The number of the position that players call a place; half position is 0.5."""
        if self.by_degree:
            return float(place) if place else 0.5
        octaves, rest = divmod(place, OCTAVE)
        step = (0.0, 0.5, 1.0, 2.0, 2.0, 3.0, 3.5, 4.0, 5.0, 5.0, 6.0, 6.0)[rest]
        return step + _DEGREES * octaves

    def falls(self, height: int) -> tuple[Fall, ...]:
        """The fingers that can stop a string at this height, each with the hand's place."""
        return self._falls[height]

    def _by_degree(self, height: int) -> Iterator[Fall]:
        octaves, rest = divmod(height, OCTAVE)
        for step, altered in _STEPS[rest]:
            degree = step + _DEGREES * octaves
            for finger in (1, 2, 3, 4):
                place = degree - finger + 1
                if place >= 0:
                    yield Fall(place, finger, altered)
            if not altered:
                if degree >= 5:
                    yield Fall(degree - 4, 4, extended=1)
                yield Fall(degree + 1, 1, extended=-1)

    def _by_semitone(self, height: int) -> Iterator[Fall]:
        yield Fall(height, 1)
        if height < self.model.highest_stop:
            yield Fall(height + 1, 1, extended=-1)
        for finger in (2, 3, 4):
            for place in range(1, height - finger + 2):
                out = self._out(place, finger, height)
                if out is not None:
                    yield Fall(place, finger, extended=out)
        if height >= self._thumb_from:
            for place in range(height + 1, min(height + 4, self.model.highest_stop + 1)):
                frame = self._frames[height].get((THUMB, 1))
                if frame and self._span(height, place) <= frame.stretched_mm:
                    yield Fall(place, THUMB)

    def _out(self, place: int, finger: int, height: int) -> int | None:
        """How far a finger reaches out of the frame; ``None`` where it does not get there."""
        frame = self._frames[place].get((1, finger))
        if frame is None or self._span(place, height) > frame.stretched_mm:
            return None
        rest = self._at_rest(place, frame)
        if height - place < min(finger - 1, rest):
            return None
        return max(0, height - place - rest)

    def _at_rest(self, place: int, frame: Frame) -> int:
        top = self.model.highest_stop
        return max(
            (h - place for h in range(place, top + 1) if self._span(place, h) <= frame.relaxed_mm),
            default=0,
        )

    def _span(self, low: int, high: int) -> float:
        return self.stop_mm[high] - self.stop_mm[low]

    def _spans(self) -> NDArray[np.float64]:
        """How hard two fingers stretch, by finger and height of one and the other: 0 to 2."""
        count, top = len(FINGERS), self.model.highest_stop + 1
        spans = np.zeros((count, top, count, top))
        for low in range(top):
            for (one, other), frame in self._frames[low].items():
                for high in range(low, top):
                    distance = self._span(low, high)
                    spans[one, low, other, high] = spans[other, high, one, low] = stretch(
                        frame, distance
                    )
        return spans


def _frames_at(frames: tuple[Frame, ...], height: int) -> dict[tuple[int, int], Frame]:
    """The widest frame of each pair of fingers whose lower finger stands at this height."""
    table: dict[tuple[int, int], Frame] = {}
    for frame in sorted(frames, key=lambda each: each.widest_mm):
        if frame.from_semitone <= height:
            table[FINGERS.index(frame.low), FINGERS.index(frame.high)] = frame
    return table


def stretch(frame: Frame, distance_mm: float) -> float:
    """How far a frame is stretched: 0 at rest, 1 stretched, 2 at the widest and beyond.

    >>> stretch(Frame("1", "4", 80, 100, 120), 90)
    0.5
    """
    if distance_mm <= frame.relaxed_mm:
        return 0.0
    if distance_mm <= frame.stretched_mm:
        return (distance_mm - frame.relaxed_mm) / (frame.stretched_mm - frame.relaxed_mm)
    room = max(frame.widest_mm - frame.stretched_mm, 1e-9)
    return min(2.0, 1.0 + (distance_mm - frame.stretched_mm) / room)


@lru_cache(64)
def board_of(model: HandModel) -> Board:
    """Return the board of a hand model, the same one for equal models."""
    return Board(model)
