"""The time to place the fingers of a stop, and its neighbors before and after."""

from bisect import bisect_left, bisect_right
from collections.abc import Mapping, Sequence
from decimal import Decimal
from itertools import accumulate

from orchq.derive.clock import Clock
from orchq.derive.placed import Placed
from orchq.derive.sonorities import Sonority
from orchq.exact import Fraction
from orchq.knowledge import Knowledge


class Pressure:
    """Weighs the surroundings of the stops on one staff.

    Without a ``clock``, and where no tempo is known, no stop counts as quick.
    """

    def __init__(
        self,
        placed: Sequence[Placed],
        stops: Sequence[Sonority],
        knowledge: Knowledge,
        clock: Clock | None,
    ) -> None:
        self._clock = clock
        self._to_prepare = knowledge.judged("seconds-to-prepare-stop")
        self._to_set_anew = knowledge.judged("seconds-to-set-anew")
        events = [item.event for item in placed if not item.event.grace]
        events.sort(key=lambda event: event.onset)
        attacks = (e for e in events if not all(note.tied_back for note in e.notes))
        self._attacks = sorted({event.onset for event in attacks})
        self._starts = [event.onset for event in events]
        self._ends = list(accumulate((event.end for event in events), max))
        self._stops: Mapping[Fraction, frozenset[int]] = {
            stop.event.onset: frozenset(note.pitch.midi for note in stop.notes)
            for stop in stops
            if not stop.event.grace
        }

    def presses(self, stop: Sonority) -> bool:
        """Whether a stop comes quickly, among other stops, or is for several players each."""
        if stop.all_play or stop.event.grace:
            return True
        onset = stop.event.onset
        before, after = self._before(onset), self._after(onset)
        midis = self._stops[onset]
        if any(self._stops.get(at, midis) != midis for at in (before, after) if at is not None):
            return True
        return before is not None and self._is_short(before, onset, self._to_prepare)

    def may_set_anew(self, stop: Sonority) -> bool:
        """Whether the chord lasts long enough to reset fingers between its pairs."""
        onset = stop.event.onset
        place = bisect_right(self._attacks, onset)
        until = self._attacks[place] if place < len(self._attacks) else stop.event.end
        return not stop.event.grace and not self._is_short(onset, until, self._to_set_anew)

    def _before(self, onset: Fraction) -> Fraction | None:
        """The attack before, if no rest separates it from this one."""
        place = bisect_left(self._attacks, onset)
        sounding = bisect_left(self._starts, onset)
        if not place or not sounding or self._ends[sounding - 1] < onset:
            return None
        return self._attacks[place - 1]

    def _after(self, onset: Fraction) -> Fraction | None:
        """The attack after, if no rest separates it from this one."""
        place = bisect_right(self._attacks, onset)
        if place == len(self._attacks):
            return None
        following = self._attacks[place]
        sounding = bisect_left(self._starts, following)
        return following if self._ends[sounding - 1] >= following else None

    def _is_short(self, start: Fraction, end: Fraction, seconds: Decimal) -> bool:
        most = self._clock.span(start, end).most if self._clock else None
        return most is not None and most < Fraction(seconds)
