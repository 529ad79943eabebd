"""Stops as triples: what the hand model says of the notes one player takes at once."""

from collections.abc import Iterator, Sequence

from pyoxigraph import Literal, NamedNode, Quad

from orchq.derive.hand import Grade, Playing, StopSolver, hand_model, solver_for
from orchq.derive.sonorities import Sonority, sonorities
from orchq.derive.states import InForce, Placed
from orchq.excerpt import decimal
from orchq.knowledge import Instrument, Knowledge
from orchq.score import Part
from orchq.terms import RDF_TYPE, oq

_NOT_BOWED = frozenset({"PluckedTechnique", "StickTechnique"})


class Stops:
    """Grades the sonorities of a part; shapes are solved once for each tuning and level."""

    def __init__(self, knowledge: Knowledge, instrument: Instrument, trust: str | None) -> None:
        self._knowledge = knowledge
        self._instrument = instrument
        self._trust = trust
        self._solvers: dict[tuple[tuple[int, ...], str], StopSolver] = {}

    def quads(self, part: Part, placed: Sequence[Placed], level: str) -> Iterator[Quad]:
        """Yield the triples of every stop on one staff of the part."""
        for sonority in sonorities(part, placed, self._knowledge):
            yield from self._stop_quads(sonority, level)

    def solver(self, in_force: InForce, level: str) -> StopSolver:
        """The solver for the strings in use at a level (an IRI)."""
        tuning = tuple(string.pitch.midi for string in in_force.strings)
        if (tuning, level) not in self._solvers:
            model = hand_model(self._knowledge, self._instrument, tuning, level, self._trust)
            self._solvers[tuning, level] = solver_for(model)
        return self._solvers[tuning, level]

    def _stop_quads(self, sonority: Sonority, level: str) -> Iterator[Quad]:
        solver = self.solver(sonority.in_force, level)
        midis = [note.pitch.midi for note in sonority.notes]
        if min(midis) < min(solver.model.strings):
            return  # the rule about notes below the lowest string speaks of it
        stop = solver.solve(midis)
        bowed = self._is_bowed(sonority.in_force)
        as_written = stop.struck if bowed else stop.plucked
        if sonority.broken:
            as_written = stop.broken
        node = NamedNode(f"{sonority.event.iri}.stop")
        event = NamedNode(sonority.event.iri)
        yield Quad(node, RDF_TYPE, oq("Stop"))
        yield Quad(event, oq("hasStop"), node)
        yield Quad(node, oq("atEvent"), event)
        names = "-".join(note.pitch.name for note in sonority.notes)
        yield Quad(node, oq("spelledOut"), Literal(names))
        yield Quad(node, oq("noteCount"), Literal(len(sonority.notes)))
        yield Quad(node, oq("stoppedCount"), Literal(as_written.stopped))
        yield Quad(node, oq("isBowed"), Literal(bowed))
        yield Quad(node, oq("gradeAsWritten"), _grade(as_written.grade))
        yield Quad(node, oq("gradeBroken"), _grade(stop.broken.grade))
        yield Quad(node, oq("soundsQuarters"), decimal(sonority.held))
        if sonority.may_divide:
            yield Quad(node, oq("mayDivide"), Literal(True))
        yield from _reason_quads(node, as_written)

    def _is_bowed(self, in_force: InForce) -> bool:
        techniques = self._knowledge.techniques
        return not any(
            techniques[iri].kinds & _NOT_BOWED for iri in in_force.techniques if iri in techniques
        )


def _reason_quads(node: NamedNode, playing: Playing) -> Iterator[Quad]:
    if playing.reasons:
        gravest = playing.reasons[0]
        yield Quad(node, oq("becauseOf"), Literal(gravest.text))
        for limit in gravest.limits:
            yield Quad(node, oq("restsOn"), NamedNode(limit))
        if gravest.physical and playing.grade is Grade.IMPOSSIBLE:
            yield Quad(node, oq("isBarredByStrings"), Literal(True))
    if any(reason.code == "stop-count" for reason in playing.reasons):
        yield Quad(node, oq("exceedsStopCount"), Literal(True))


def _grade(grade: Grade) -> NamedNode:
    return oq(f"grade-{grade.label}")
