"""The music as it is judged, staff by staff: built once for rules, advice and survey."""

from collections.abc import Mapping, Sequence
from functools import cached_property

from msgspec import Struct

from orchq.derive.bow_time import Bowing
from orchq.derive.circumstances import Circumstances
from orchq.derive.clock import tempo_map
from orchq.derive.doubtful_clefs import settled_clefs
from orchq.derive.hand import HandModel, StopSolver
from orchq.derive.harmonic_facts import Harmonics, harmonics_of
from orchq.derive.lines import Line, lines
from orchq.derive.placed import InForce, Placed
from orchq.derive.returns import Returns, slurred_events
from orchq.derive.scopes import Scopes
from orchq.derive.standing import Carried, Doubt, Standing
from orchq.derive.states import walk_part
from orchq.derive.stops import Stops
from orchq.knowledge import Knowledge
from orchq.score import Part, Score


class Staff(Struct, frozen=True, dict=True):
    """The music of one player or section on one staff, as it is meant.

    ``placed`` are the played events in time order, each with what is surely in force for it;
    where an arco was forgotten they count as bowed. ``returns`` finds these places; ``doubts``
    are the other instructions whose end seems to have been forgotten.
    """

    around: Circumstances
    number: int
    returns: Returns
    placed: Sequence[Placed]
    doubts: Sequence[Doubt]

    @property
    def part(self) -> Part:
        """The part that the staff belongs to."""
        return self.around.part

    @property
    def knowledge(self) -> Knowledge:
        """The graph."""
        return self.around.knowledge

    @cached_property
    def bowing(self) -> Bowing:
        """The bowing facts of the staff."""
        return Bowing(self.around)

    @cached_property
    def lines(self) -> Sequence[Line]:
        """The voices, attack by attack."""
        return lines(self.part, self.placed, self.bowing.directions)

    @cached_property
    def stops(self) -> Stops:
        """The stops: grades of notes taken at once."""
        around = self.around
        return Stops(self.knowledge, around.instrument, around.trust, around.clock)

    def forget(self) -> None:
        """Let go of what can be found again from what is placed."""
        for name in ("bowing", "lines", "stops", "harmonics"):
            self.__dict__.pop(name, None)

    def solver_of(self, in_force: InForce) -> StopSolver | None:
        """The hand for what is in force; ``None`` where the graph describes none."""
        return self.stops.solver(in_force, self.around.level_of(in_force))

    def hand_of(self, in_force: InForce) -> HandModel | None:
        """The measures of the hand for what is in force; ``None`` where the graph has none."""
        solver = self.solver_of(in_force)
        return solver.model if solver else None

    @cached_property
    def harmonics(self) -> Sequence[tuple[Placed, Harmonics, HandModel]]:
        """The events that show harmonics, each with its reader and the hand for it."""
        return tuple(harmonics_of(self.around, self.placed, self.solver_of))


Staves = Mapping[str, Sequence[Staff]]
"""The staves that have anything to play, by the IRI of their part."""


def staves_of(
    score: Score, knowledge: Knowledge, *, level: str | None = None, trust: str | None = None
) -> Staves:
    """Resolve what is in force on every staff of the parts whose instrument the graph knows.

    ``level`` is the IRI of the level of player, where one is asked for; ``trust`` is the IRI of
    the one source to follow.
    """
    clock = tempo_map(score, knowledge)
    scopes = Scopes(knowledge, trust)
    standing = Standing(knowledge, score.parts)
    found: list[tuple[Circumstances, list[tuple[int, Returns, Carried]]]] = []
    for part in score.parts:
        instrument = knowledge.instruments.get(part.instrument or "")
        if instrument is None:
            continue
        around = Circumstances(knowledge, instrument, part, clock, scopes, level, trust)
        slurred = slurred_events(part)
        believed = []
        for number, printed in walk_part(part, instrument, knowledge).items():
            returns = Returns(printed, slurred, knowledge)
            placed = tuple(settled_clefs(tuple(returns.believed()), knowledge))
            believed.append((number, returns, standing.take(part, instrument, placed)))
        found.append((around, believed))
    return {
        around.part.iri: tuple(
            Staff(around, number, returns, *standing.judged(carried))
            for number, returns, carried in believed
        )
        for around, believed in found
    }
