"""Which fingers stop the notes of one layout: in order along the string, within the frames.

Strings are counted from 0, the highest; stopped notes are sorted from the nut, at one height
from the lowest string. A finger stops as many notes as lie at one height with no open or lower
note between them.
"""

from collections.abc import Iterator
from functools import lru_cache
from itertools import combinations, pairwise

from msgspec import Struct

from orchq.derive.hand.hand_frames import FINGERS, Finger, Frame, HandModel
from orchq.derive.hand.reach import NEVER, reach_of

Layout = tuple[tuple[int, int], ...]
"""Notes in order of pitch as (string index, height in semitones)."""
Stopped = tuple[tuple[int, int], ...]
"""Stopped notes in order from the nut as (height in semitones, string index)."""
_Block = tuple[int, ...]  # indices of the stopped notes under one finger
CACHE = 1 << 15  # layouts remembered for each hand model

HIGHEST_FINGER = FINGERS.index("4")
_HIGH_NOTE_FINGER = FINGERS.index("3")  # takes a lone high note where fingers follow the scale
_THUMB_PLACE = -2  # the third finger stands five semitones above the thumb: an octave in fifths


def neighbours(layout: Layout) -> bool:
    """Whether the notes lie on strings side by side, as one bow stroke needs."""
    low = high = layout[0][0]
    for string, _ in layout:
        if string < low:
            low = string
        elif string > high:
            high = string
    return high - low == len(layout) - 1


class Fit(Struct, frozen=True):
    """The best fingers for a set of stopped notes, and what they cost.

    ``fingers`` answer the stopped notes one by one; ``barred`` counts the notes that a finger
    stops beyond its first, ``cramped`` fingers side by side,
    ``over_barre`` whether one arches over a flat finger; ``stretch`` is the effort of
    the widest ``frame``, ``stretch_mm`` its size.
    """

    effort: float
    fingers: tuple[Finger, ...]
    barred: int = 0
    cramped: int = 0
    over_barre: bool = False
    stretch: float = 0.0
    stretch_mm: float = 0.0
    frame: Frame | None = None


def _blocks(
    stopped: Stopped, opened: tuple[int, ...], start: int = 0
) -> Iterator[tuple[_Block, ...]]:
    """All ways to distribute the notes from ``start`` on over fingers, from the nut.

    A finger can lie across strings between, over notes stopped higher but none lower or open.
    """
    if start == len(stopped):
        yield ()
        return
    height, outermost = stopped[start]
    lower = {string for low, string in stopped if low < height}.union(opened)
    for end in range(start + 1, len(stopped) + 1):
        last_height, string = stopped[end - 1]
        if last_height != height or not lower.isdisjoint(range(string + 1, outermost)):
            break
        for rest in _blocks(stopped, opened, end):
            yield (tuple(range(start, end)), *rest)


class Fingers:
    """The fingers of one hand model, cached."""

    def __init__(self, model: HandModel) -> None:
        weights = model.weights
        self.reach = reach_of(
            model.length_mm, model.highest_stop, model.frames, model.level, weights
        )
        self._step = model.step_semitones
        self._on_frets = model.frets
        self._barred, self._over_barre = weights.barred, weights.over_barre
        self._thumb = weights.thumb
        self._cramped = weights.cramped_on_fret if model.frets else weights.cramped
        self.fit = lru_cache(CACHE)(self._fit)

    def fit_of(self, layout: Layout, stopped: Stopped) -> Fit | None:
        """The best fingers for the stopped notes of a layout, or ``None``."""
        return self.fit(stopped, tuple(string for string, height in layout if not height))

    def _fit(self, stopped: Stopped, opened: tuple[int, ...] = ()) -> Fit | None:
        if not stopped:
            return Fit(0.0, ())
        if self.reach.least(stopped[0][0], stopped[-1][0]) == NEVER:
            return None
        best: tuple[float, float, tuple[int, ...], tuple[_Block, ...]] | None = None
        for blocks in _blocks(stopped, opened):
            base = self._base(stopped, blocks)
            heights = [stopped[block[0]][0] for block in blocks]
            for hand in combinations(self.reach.fingers, len(blocks)):
                effort = base
                if hand[0] == 0:
                    if heights[0] < self.reach.thumb_from:
                        continue
                    effort += self._thumb
                if best is not None and effort > best[0]:
                    continue
                effort = round(effort + self._hold(hand, heights), 9)
                if effort == NEVER or (best is not None and effort > best[0]):
                    continue
                unease = self._unease(hand, heights)
                if best is None or (effort, unease) < best[:2]:
                    best = effort, unease, hand, blocks
        return None if best is None else self._describe(stopped, best[0], best[2], best[3])

    def _base(self, stopped: Stopped, blocks: tuple[_Block, ...]) -> float:
        """Effort of the distribution of the notes, whichever fingers take them."""
        effort = self._cramped * _cramped(stopped, blocks)
        for block in (block for block in blocks if len(block) > 1):
            effort += self._barred * (1 if self._on_frets else len(block) - 1)
        return effort + self._over_barre * self._arches_over_flat(stopped, blocks)

    def _arches_over_flat(self, stopped: Stopped, blocks: tuple[_Block, ...]) -> bool:
        """Whether a finger lies flat across strings where another stops a lower one higher."""
        flat = [] if self._on_frets else [stopped[block[0]] for block in blocks if len(block) > 1]
        return any(h > height and s > string for height, string in flat for h, s in stopped)

    def _hold(self, hand: tuple[int, ...], heights: list[int]) -> float:
        """Effort of the tightest pair of fingers; infinity when the hand cannot hold them."""
        worst = 0.0
        for high in range(1, len(hand)):
            for low in range(high):
                row = self.reach.stretch[heights[low]][heights[high]]
                stretch = row.get((hand[low], hand[high]), NEVER)
                if stretch > worst:
                    if stretch == NEVER:
                        return NEVER
                    worst = stretch
        return worst

    def _describe(
        self, stopped: Stopped, effort: float, hand: tuple[int, ...], blocks: tuple[_Block, ...]
    ) -> Fit:
        pairs = [(finger, stopped[block[0]][0]) for finger, block in zip(hand, blocks, strict=True)]
        stretch, distance, widest = 0.0, 0.0, None
        for (low, low_height), (high, high_height) in combinations(pairs, 2):
            strain = self.reach.stretch[low_height][high_height][low, high]
            if strain > stretch:
                stretch = strain
                distance = self.reach.place[high_height] - self.reach.place[low_height]
                widest = self.reach.frames[low_height][low, high]
        fingers = tuple(
            FINGERS[finger] for finger, block in zip(hand, blocks, strict=True) for _ in block
        )
        barred = max(map(len, blocks)) - 1
        cramped = _cramped(stopped, blocks)
        over = self._arches_over_flat(stopped, blocks)
        return Fit(effort, fingers, barred, cramped, over, stretch, distance, widest)

    def _unease(self, hand: tuple[int, ...], heights: list[int]) -> float:
        """Distance of fingers from their usual places: a tie-breaker between equal efforts."""
        step = self._step
        scale_top = step * HIGHEST_FINGER
        unease = 0.0
        if step > 1 and heights[-1] <= scale_top:
            for finger, height in zip(hand, heights, strict=True):
                unease += abs(finger - (height + step - 1) // step)
        elif step > 1 and len(hand) == 1:
            unease += abs(hand[0] - _HIGH_NOTE_FINGER)
        places = [finger or _THUMB_PLACE for finger in hand]
        for low in range(len(hand) - 1):
            # A finger serves up to a step: a fourth is three steps of the scale, first to fourth.
            steps = -(-(heights[low + 1] - heights[low]) // step)
            unease += abs(places[low + 1] - places[low] - steps)
        return unease


def _cramped(stopped: Stopped, blocks: tuple[_Block, ...]) -> int:
    """How many pairs of fingers stand side by side at one height."""
    count = 0
    for low, high in pairwise(blocks):
        (low_height, low_string), (high_height, high_string) = stopped[low[-1]], stopped[high[0]]
        count += low_height == high_height and low_string - high_string == 1
    return count
