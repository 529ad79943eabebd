"""One staff to be measured: its events, with the instruments of derivation set up for it."""

from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass
from fractions import Fraction
from functools import partial

from orchq.derive.bowing import Bowing
from orchq.derive.clock import Tempo, tempo_map
from orchq.derive.derivation import level_of
from orchq.derive.hand import StopSolver
from orchq.derive.harmonic_facts import Told, harmonics_of
from orchq.derive.lines import Line, lines
from orchq.derive.returns import Returns, slurred_events
from orchq.derive.scopes import Scopes
from orchq.derive.setting import Setting
from orchq.derive.states import InForce, Placed, walk_part
from orchq.derive.stops import Stops
from orchq.knowledge import Knowledge
from orchq.score import Event, Mark, Part, Score
from orchq.survey.model import PlayersSetting, TempoKind
from orchq.terms import slug_of

At = tuple[str, str, int, str, PlayersSetting, str, int, float]
"""The values of a ``Place``, in order."""
Timed = tuple[float | None, TempoKind]


@dataclass(frozen=True, slots=True)
class Staff:
    """What one player or section reads on one staff, with what derivation finds it out by.

    ``solver_of`` gives the hand for what is in force, ``None`` where the graph has none;
    ``harmonics`` are the events that show harmonics, with what is printed and what it means.
    """

    work: str
    setting: Setting
    placed: Sequence[Placed]
    lines: Sequence[Line]
    bowing: Bowing
    stops: Stops
    solver_of: Callable[[InForce], StopSolver | None]
    harmonics: Sequence[tuple[Placed, Sequence[Told]]]

    @property
    def part(self) -> Part:
        """The part that the staff belongs to."""
        return self.setting.part

    @property
    def knowledge(self) -> Knowledge:
        """The graph."""
        return self.setting.knowledge

    def players(self, in_force: InForce) -> PlayersSetting:
        """Whether one player reads the part there, or a section."""
        return "section" if self.setting.has_several_players(in_force) else "solo"

    def at(self, item: Placed) -> At:
        """The place of an event."""
        return self.at_mark(item.event, item.in_force)

    def at_mark(self, it: Event | Mark, in_force: InForce) -> At:
        """The place of an event or mark where this is in force."""
        return (
            self.work,
            self.part.name,
            self.part.index,
            self.setting.instrument.slug,
            self.players(in_force),
            it.measure_number,
            it.measure_index,
            round(float(it.offset + 1), 6),
        )

    def least(self, start: Fraction, end: Fraction) -> Timed:
        """The seconds that a stretch lasts at the least, and what its tempo rests on."""
        span = self.setting.clock.span(start, end)
        return self._timed(start, span.least, span.fast_tempo)

    def most(self, start: Fraction, end: Fraction) -> Timed:
        """The seconds that a stretch lasts at the most, and what its tempo rests on."""
        span = self.setting.clock.span(start, end)
        return self._timed(start, span.most, span.slow_tempo)

    def _timed(self, start: Fraction, seconds: Fraction | None, assumed: Fraction | None) -> Timed:
        if seconds is None:
            return None, "none"
        if seconds == 0:
            return 0.0, kind_of(self.setting.clock.tempo(start))
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


def staves(score: Score, knowledge: Knowledge, work: str) -> Iterator[Staff]:
    """Yield the staves of the string parts of a score; ``work`` is what its rows are named by."""
    clock = tempo_map(score, knowledge)
    scopes = Scopes(knowledge, score.iri, None)
    for part in score.parts:
        instrument = knowledge.instruments.get(part.instrument or "")
        if instrument is not None:
            level = partial(_level, part)
            setting = Setting(knowledge, instrument, part, clock, scopes, level, None)
            yield from _staves_of(setting, work)


def _level(part: Part, in_force: InForce) -> str:
    return level_of(part, None, solo=in_force.solo)


def _staves_of(setting: Setting, work: str) -> Iterator[Staff]:
    knowledge, instrument, part = setting.knowledge, setting.instrument, setting.part
    stops = Stops(knowledge, instrument, None)
    bowing = Bowing(setting)

    def solver_of(in_force: InForce) -> StopSolver | None:
        return stops.solver(in_force, setting.level_of(in_force))

    slurred = slurred_events(part)
    for printed in walk_part(part, instrument, knowledge).values():
        placed = tuple(Returns(printed, slurred).believed(knowledge))
        harmonics = [
            (item, tuple(reader.told(item, model)))
            for item, reader, model in harmonics_of(setting, placed, solver_of)
        ]
        voices = lines(part, placed, bowing.directions)
        yield Staff(work, setting, placed, voices, bowing, stops, solver_of, harmonics)
