"""Matches signs that span from one place to another: slurs and wedges, paired by number."""

from fractions import Fraction
from typing import NamedTuple

from orchq.score import Hairpin, Slur


class SlurEnd(NamedTuple):
    """One end of a slur, with its place and voice."""

    measure: int
    offset: Fraction
    voice: str
    event: str

    def is_before(self, other: "SlurEnd") -> bool:
        """Whether this end comes before the other, or at the same place as a grace note may."""
        return (self.measure, self.offset) <= (other.measure, other.offset)


class Slurs:
    """Matches the starts and stops of slurs, across measures and voices.

    Voices are written one after the other, so that a stop may stand in the file before its
    start. ``unmatched`` counts ends without a partner.
    """

    def __init__(self, part_iri: str) -> None:
        self._iri = part_iri
        self._open: dict[str, list[SlurEnd]] = {}
        self._early: dict[str, list[SlurEnd]] = {}
        self.found: list[Slur] = []
        self.unmatched = 0

    def add(self, ends: list[tuple[str, str]], at: SlurEnd) -> None:
        """Process the (type, number) pairs printed at an event; ends come before new starts."""
        for kind, number in ends:
            if kind == "stop":
                self._stop(number, at)
        for kind, number in ends:
            if kind == "start":
                self._start(number, at)

    def end_measure(self) -> None:
        """Drop stops whose start has not come by the end of their measure."""
        if self._early:
            self.unmatched += sum(map(len, self._early.values()))
            self._early.clear()

    def end_movement(self) -> None:
        """Drop open slurs: none reaches into another movement."""
        self.end_measure()
        self.unmatched += sum(map(len, self._open.values()))
        self._open.clear()

    def _stop(self, number: str, at: SlurEnd) -> None:
        starts = [start for start in self._open.get(number, ()) if start.is_before(at)]
        if not starts:
            self._early.setdefault(number, []).append(at)
            return
        start = next((s for s in reversed(starts) if s.voice == at.voice), starts[-1])
        self._open[number].remove(start)
        self._join(start, at)

    def _start(self, number: str, at: SlurEnd) -> None:
        stops = [s for s in self._early.get(number, ()) if at.is_before(s) and s.event != at.event]
        if stops:
            self._early[number].remove(stops[0])
            self._join(at, stops[0])
            return
        waiting = self._open.setdefault(number, [])
        # The number is reused in this voice: the slur before it was never ended.
        abandoned = [start for start in waiting if start.voice == at.voice]
        for start in abandoned:
            waiting.remove(start)
            self.unmatched += start.event != at.event
        waiting.append(at)

    def _join(self, start: SlurEnd, stop: SlurEnd) -> None:
        if start.event != stop.event:
            iri = f"{self._iri}.s{len(self.found) + 1}"
            self.found.append(Slur(iri, start.event, stop.event))


class WedgeEnd(NamedTuple):
    """One end of a wedge: the onset of the note it belongs to, and its exact position.

    ``source`` is its place in the file: measure index, and child of the measure.
    """

    onset: Fraction
    exact: Fraction
    source: tuple[int, int]


class Hairpins:
    """Matches the starts and stops of wedges, by number and staff."""

    def __init__(self, part_iri: str) -> None:
        self._iri = part_iri
        self._open: dict[tuple[str, int | None], tuple[bool, WedgeEnd]] = {}
        self.found: list[Hairpin] = []
        self.unmatched = 0

    def add(self, kind: str, number: str, staff: int | None, at: WedgeEnd) -> None:
        """Process a wedge sign; a new start ends the one before."""
        key = (number, staff)
        if kind == "continue":
            return
        begun = self._open.pop(key, None)
        if begun is not None:
            self._join(begun[1], at, staff, grows=begun[0])
        elif kind == "stop":
            self.unmatched += 1
        if kind in {"crescendo", "diminuendo"}:
            self._open[key] = (kind == "crescendo", at)

    def end_movement(self) -> None:
        """Drop open wedges: none reaches into another movement."""
        self.unmatched += len(self._open)
        self._open.clear()

    def _join(self, start: WedgeEnd, stop: WedgeEnd, staff: int | None, *, grows: bool) -> None:
        onset, end = start.onset, stop.onset
        if end <= onset:
            # A wedge within one short note: both ends belong to it, so only the positions differ.
            onset, end = start.exact, stop.exact
        if end > onset:
            iri = f"{self._iri}.h{len(self.found) + 1}"
            self.found.append(Hairpin(iri, grows, onset, end, staff, (start.source, stop.source)))
        else:
            self.unmatched += 1
