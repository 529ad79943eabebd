"""The effort of one layout: that of its heights for any hand, and that of its fingers."""

from functools import lru_cache
from itertools import combinations

from msgspec import Struct

from orchq.derive.hand.finger_fits import CACHE, HIGHEST_FINGER, Fingers, Fit, Stopped
from orchq.derive.hand.hand_frames import HandModel
from orchq.derive.hand.reach import NEVER

_EXPOSED = frozenset({5, 7})  # fourths and fifths, octaves apart or not


class LayoutDemand(Struct, frozen=True):
    """The effort of the heights of a layout, before fingers are chosen.

    ``reach_over`` is the effort of fingers that arch over other strings, ``crossed`` counts
    pairs of stops that fall to one finger, ``exposed`` is true with a stopped fourth or fifth.
    ``total`` is the effort of all this together with height and number of the stops;
    ``at_least`` adds the least stretch of any two fingers, and is infinite out of reach;
    ``apart`` is the effort of the same notes one after another.
    """

    stopped: int
    reach_over: float
    crossed: int
    exposed: bool
    total: float
    at_least: float
    apart: float


class Efforts:
    """Efforts of layouts for one hand model, cached."""

    def __init__(self, model: HandModel, fingers: Fingers) -> None:
        self.model = model
        self.reach = fingers.reach
        self._weights = weights = model.weights
        self._shares = [
            min(1.0, weights.lone_finger + weights.lower_string * string) / model.secure_semitone
            for string in range(len(model.strings))
        ]
        self._scale_top = model.step_semitones * HIGHEST_FINGER
        self.posture = lru_cache(CACHE)(self._posture)

    def _posture(self, stopped: Stopped) -> LayoutDemand:
        if not stopped:
            return LayoutDemand(0, 0.0, 0, False, 0.0, 0.0, 0.0)
        lone = self._lone(stopped)
        if len(stopped) == 1:
            return LayoutDemand(1, 0.0, 0, False, lone, lone, lone)
        shift = 0.0
        for (low, _), (high, _) in combinations(stopped, 2):
            shift = max(shift, self._shift(low, high))
        stretch = self.reach.least(stopped[0][0], stopped[-1][0])
        if stretch == NEVER:
            return LayoutDemand(len(stopped), 0.0, 0, False, NEVER, NEVER, lone + shift)
        secure, weights = self.model.secure_semitone, self._weights
        reach_over, crossed, exposed = 0.0, 0, False
        # A finger behind a fret need not arch, and the fret keeps the pitch.
        pairs = () if self.model.frets else combinations(stopped, 2)
        for (low, low_string), (high, high_string) in pairs:
            exposed = exposed or self._exposed(low, low_string, high, high_string)
            if high > low and high_string > low_string:
                reach_over += self._reach_over(high - low)
                crossed += self._one_place(low, high)
        total = stopped[-1][0] / secure + reach_over + weights.crossed * crossed
        total += weights.stopped_notes(len(stopped))
        return LayoutDemand(
            len(stopped), reach_over, crossed, exposed, total, total + stretch, lone + shift
        )

    def struck(self, posture: LayoutDemand, fit: Fit, notes: int) -> float:
        """Return the effort of holding this many notes together."""
        floor = self._weights.usable_from if posture.exposed else 0.0
        return max(floor, posture.total + fit.effort, self._beyond(notes, posture.stopped))

    def broken(self, posture: LayoutDemand, notes: int) -> float:
        """Return the effort of this many notes one after another, each on its own string."""
        return max(posture.apart, self._beyond(notes, posture.stopped))

    def set_anew(self, stopped: Stopped, notes: int) -> float:
        """Return the effort of resetting fingers between the pairs of a chord, the hand at rest."""
        if not stopped or self.reach.least(stopped[0][0], stopped[-1][0]) == NEVER:
            return NEVER
        return max(self._weights.shift, self._beyond(notes, len(stopped)))

    def _lone(self, stopped: Stopped) -> float:
        """Effort of the height of the notes when each is stopped alone."""
        worst = 0.0
        for height, string in stopped:
            effort = height * self._shares[string]
            worst = max(worst, effort)
        return worst

    def _shift(self, low: int, high: int) -> float:
        """Effort of getting from one height to the other within a broken chord."""
        stretch = self.reach.least(low, high)
        weights = self._weights
        if stretch < weights.shift:
            return stretch
        distance = self.reach.place[high] - self.reach.place[low]
        return weights.shift if distance <= 2 * self.reach.widest_mm else weights.beyond_count

    def _reach_over(self, apart: int) -> float:
        """Effort of a finger this many semitones above another that it must arch over."""
        weights = self._weights
        full = weights.reach_over_full - weights.reach_over_from
        share = (min(apart, weights.reach_over_full) - weights.reach_over_from) / full
        return weights.reach_over * max(share, 0.0)

    def _one_place(self, low: int, high: int) -> bool:
        """Whether two heights fall to one finger in the lowest position."""
        step = self.model.step_semitones
        return high <= self._scale_top and (low - 1) // step == (high - 1) // step

    def _exposed(self, low: int, low_string: int, high: int, high_string: int) -> bool:
        if abs(low_string - high_string) != 1:
            return False
        strings = self.model.strings
        return abs(strings[low_string] + low - strings[high_string] - high) % 12 in _EXPOSED

    def _beyond(self, notes: int, stopped: int) -> float:
        """Effort of more notes than an authority allows; none within its counts."""
        model = self.model
        too_many = model.most_notes is not None and notes > model.most_notes
        too_stopped = model.most_stopped is not None and stopped > model.most_stopped
        return self._weights.beyond_count if too_many or too_stopped else 0.0
