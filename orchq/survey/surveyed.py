"""A staff that is measured: what is judged, and how its rows are written."""

from collections.abc import Sequence
from fractions import Fraction
from functools import cached_property

from msgspec import Struct

from orchq.derive.clock import Tempo
from orchq.derive.harmonic_facts import ResolvedHarmonic
from orchq.derive.lines import Line
from orchq.derive.placed import InForce, Placed
from orchq.derive.staves import Staff
from orchq.knowledge import Knowledge
from orchq.score import Event, Mark, Part
from orchq.survey.rows import PlayersSetting, TempoKind
from orchq.terms import slug_of

At = tuple[str, str, int, str, PlayersSetting, str, int, float]
"""The values of a ``RowPlace``, in order."""
Timed = tuple[float | None, TempoKind]


class SurveyedStaff(Struct, frozen=True, dict=True):
    """A staff of a work, which its rows name."""

    work: str
    judged: Staff

    @property
    def part(self) -> Part:
        """The part that the staff belongs to."""
        return self.judged.part

    @property
    def knowledge(self) -> Knowledge:
        """The graph."""
        return self.judged.knowledge

    @property
    def placed(self) -> Sequence[Placed]:
        """Its events with what is in force for each."""
        return self.judged.placed

    @property
    def lines(self) -> Sequence[Line]:
        """Its voices, attack by attack."""
        return self.judged.lines

    @cached_property
    def harmonics(self) -> Sequence[tuple[Placed, Sequence[ResolvedHarmonic]]]:
        """The events that show harmonics, with what is printed and what it means."""
        return [
            (item, tuple(reader.interpreted(item, model)))
            for item, reader, model in self.judged.harmonics
        ]

    def players(self, in_force: InForce) -> PlayersSetting:
        """Whether one player reads the part there, or a section."""
        return "section" if self.judged.around.has_several_players(in_force) else "solo"

    def at(self, item: Placed) -> At:
        """The place of an event."""
        return self.at_mark(item.event, item.in_force)

    def at_mark(self, it: Event | Mark, in_force: InForce) -> At:
        """The place of an event or mark where this is in force."""
        return (
            self.work,
            self.part.name,
            self.part.index,
            self.judged.around.instrument.slug,
            self.players(in_force),
            it.measure_number,
            it.measure_index,
            round(float(it.offset + 1), 6),
        )

    def least(self, start: Fraction, end: Fraction) -> Timed:
        """The seconds that a stretch lasts at the least, and what its tempo rests on."""
        span = self.judged.around.clock.span(start, end)
        return self._timed(start, span.least, span.fast_tempo)

    def most(self, start: Fraction, end: Fraction) -> Timed:
        """The seconds that a stretch lasts at the most, and what its tempo rests on."""
        span = self.judged.around.clock.span(start, end)
        return self._timed(start, span.most, span.slow_tempo)

    def _timed(self, start: Fraction, seconds: Fraction | None, assumed: Fraction | None) -> Timed:
        if seconds is None:
            return None, "none"
        if seconds == 0:
            return 0.0, kind_of(self.judged.around.clock.tempo(start))
        return rounded(seconds), "marked" if assumed is None else "assumed"

    def dynamic(self, in_force: InForce) -> tuple[str, int | None]:
        """The slug and the rank of the dynamic in force."""
        if in_force.dynamic is None:
            return "", None
        known = self.knowledge.dynamics.get(in_force.dynamic)
        return slug_of(in_force.dynamic), known.rank if known else None


def kind_of(tempo: Tempo) -> TempoKind:
    """What a tempo rests on."""
    if tempo.slowest is None and tempo.fastest is None:
        return "none"
    return "assumed" if tempo.assumed else "marked"


def rounded(value: Fraction | float) -> float:
    """A number as tables hold it: to a tenth of a thousandth."""
    return round(float(value), 4)
