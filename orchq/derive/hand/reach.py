"""How hard two fingers stretch between two heights, as tables that hand models share."""

from functools import lru_cache

from orchq.derive.hand.geometry import stop_mm
from orchq.derive.hand.grades import EffortWeights
from orchq.derive.hand.hand_frames import FINGERS, Frame, Level

NEVER = float("inf")
"""Effort of the impossible."""
Pair = tuple[int, int]
"""Two fingers as indices in ``FINGERS``."""


class Reach:
    """Distances and stretches on one length of string.

    ``place`` gives millimeters from the nut by height in semitones; ``frames`` the frame of each
    pair of fingers by the height of the lower one; ``stretch`` the effort of each pair by both
    heights, without those that do not reach; ``fingers`` are those that the frames name;
    the thumb stops notes from height ``thumb_from`` on.
    """

    def __init__(
        self,
        length_mm: float,
        highest_stop: int,
        frames: tuple[Frame, ...],
        level: Level,
        weights: EffortWeights,
    ) -> None:
        heights = range(highest_stop + 1)
        self._level = level
        self._weights = weights
        self.place = [stop_mm(length_mm, height) for height in heights]
        self.frames = [_frames_at(frames, height) for height in heights]
        self.stretch = [[self._pairs(low, high) for high in heights] for low in heights]
        self.fingers = sorted(
            {finger for table in self.frames for pair in table for finger in pair}
        )
        self.widest_mm = max((frame.widest_mm for frame in frames), default=0.0)
        thumbs = (frame.from_semitone for frame in frames if frame.low == FINGERS[0])
        self.thumb_from = min(thumbs, default=0)
        self._least = [[min(row.values(), default=NEVER) for row in rows] for rows in self.stretch]

    def least(self, low: int, high: int) -> float:
        """Least effort of any two fingers at these heights; infinity when none reach."""
        return 0.0 if low == high else self._least[low][high]

    def _pairs(self, low: int, high: int) -> dict[Pair, float]:
        if high < low:
            return {}
        distance = self.place[high] - self.place[low]
        efforts = {pair: self._effort(frame, distance) for pair, frame in self.frames[low].items()}
        return {pair: effort for pair, effort in efforts.items() if effort < NEVER}

    def _effort(self, frame: Frame, distance_mm: float) -> float:
        reach = frame.reach_mm(self._level)
        if distance_mm <= frame.relaxed_mm:
            return 0.0
        if distance_mm <= reach:
            strain = (distance_mm - frame.relaxed_mm) / (reach - frame.relaxed_mm)
            return self._weights.stretch * strain
        return self._weights.beyond_reach if distance_mm <= frame.widest_mm else NEVER


def _frames_at(frames: tuple[Frame, ...], height: int) -> dict[Pair, Frame]:
    """The frame of each pair of fingers whose lower finger stands at this height."""
    table: dict[Pair, Frame] = {}
    for frame in frames:
        pair = FINGERS.index(frame.low), FINGERS.index(frame.high)
        known = table.get(pair)
        wider = known is None or known.widest_mm < frame.widest_mm
        if frame.from_semitone <= height and wider:
            table[pair] = frame
    return table


@lru_cache(64)
def reach_of(
    length_mm: float,
    highest_stop: int,
    frames: tuple[Frame, ...],
    level: Level,
    weights: EffortWeights,
) -> Reach:
    """Return the tables of these numbers, the same ones for equal numbers."""
    return Reach(length_mm, highest_stop, frames, level, weights)
