"""Stops as triples: what the hand model says of the notes one player takes at once."""

from collections.abc import Callable, Iterator, Sequence
from fractions import Fraction
from itertools import combinations, pairwise
from math import isinf

from pyoxigraph import Literal, NamedNode, Quad

from orchq.derive.hand import Grade, Playing, Stop, StopSolver, hand_model, solver_for
from orchq.derive.sonorities import Sonority, sonorities
from orchq.derive.states import InForce, Placed
from orchq.errors import OrchqError
from orchq.excerpt import decimal
from orchq.knowledge import Instrument, InstrumentString, Knowledge
from orchq.notation import Pitch
from orchq.score import Note, Part
from orchq.terms import RDF_TYPE, oq

_NOT_BOWED = frozenset({"PluckedTechnique", "StickTechnique"})
_PLUCKED = frozenset({"PluckedTechnique"})

_STOP, _HAS_STOP, _AT_EVENT = oq("Stop"), oq("hasStop"), oq("atEvent")
_SPELLED_OUT, _NOTE_COUNT = oq("spelledOut"), oq("noteCount")
_STOPPED_COUNT, _IS_BOWED = oq("stoppedCount"), oq("isBowed")
_AS_WRITTEN, _BROKEN = oq("gradeAsWritten"), oq("gradeBroken")
_SOUNDS, _OVERHELD = oq("soundsQuarters"), oq("overheldQuarters")
_MAY_DIVIDE, _REPEATS = oq("mayDivide"), oq("repeatsStop")
_BECAUSE_OF, _RESTS_ON = oq("becauseOf"), oq("restsOn")
_BARRED, _EXCEEDS = oq("isBarredByStrings"), oq("exceedsStopCount")
_TRUE = Literal(True)
_GRADES = {grade: oq(f"grade-{grade.label}") for grade in Grade}


class Stops:
    """Grades the sonorities of a part; shapes are solved once for each tuning and level."""

    def __init__(self, knowledge: Knowledge, instrument: Instrument, trust: str | None) -> None:
        self._knowledge = knowledge
        self._instrument = instrument
        self._trust = trust
        self._solvers: dict[tuple[tuple[int, ...], str], StopSolver | None] = {}

    def quads(
        self, part: Part, placed: Sequence[Placed], level_of: Callable[[InForce], str]
    ) -> Iterator[Quad]:
        """Yield the triples of every stop on one staff; ``level_of`` gives the player's level."""
        last: tuple[object, Fraction] | None = None
        for sonority in sonorities(part, placed, self._knowledge):
            key = _sameness(sonority)
            repeats = last is not None and last[0] == key and last[1] >= sonority.event.onset
            last = key, sonority.event.end
            level = level_of(sonority.in_force)
            yield from self._stop_quads(sonority, level, repeats=repeats)

    def solver(self, in_force: InForce, level: str) -> StopSolver | None:
        """The solver for the strings in use at a level (an IRI).

        ``None`` where the graph does not say what a hand does on the instrument, as of one that
        an extension has begun to describe: its stops are then not graded.
        """
        tuning = tuple(string.pitch.midi for string in in_force.strings)
        if (tuning, level) not in self._solvers:
            try:
                model = hand_model(self._knowledge, self._instrument, tuning, level, self._trust)
            except OrchqError:
                self._solvers[tuning, level] = None
            else:
                self._solvers[tuning, level] = solver_for(model)
        return self._solvers[tuning, level]

    def _stop_quads(self, sonority: Sonority, level: str, *, repeats: bool) -> Iterator[Quad]:
        solver = self.solver(sonority.in_force, level)
        if solver is None:
            return
        model = solver.model
        if sonority.notes[0].pitch.midi < min(model.strings):
            return  # the rule about notes below the lowest string speaks of it
        playing_of = self._manner(sonority)
        first, last = _hardest_share(sonority, solver, playing_of)
        notes, lasting = sonority.notes[first:last], sonority.lasting[first:last]
        stop = solver.solve(_midis(notes))
        as_written = playing_of(stop)
        bowed = not self._uses(sonority.in_force, _NOT_BOWED)
        node = NamedNode(f"{sonority.event.iri}.stop")
        event = NamedNode(sonority.event.iri)
        yield Quad(node, RDF_TYPE, _STOP)
        yield Quad(event, _HAS_STOP, node)
        yield Quad(node, _AT_EVENT, event)
        yield Quad(node, _SPELLED_OUT, Literal("-".join(note.pitch.name for note in notes)))
        yield Quad(node, _NOTE_COUNT, Literal(len(notes)))
        yield Quad(node, _STOPPED_COUNT, Literal(as_written.stopped))
        yield Quad(node, _IS_BOWED, Literal(bowed))
        yield Quad(node, _AS_WRITTEN, _GRADES[as_written.grade])
        yield Quad(node, _BROKEN, _GRADES[stop.broken.grade])
        yield Quad(node, _SOUNDS, decimal(min(lasting)))
        if sonority.may_divide:
            yield Quad(node, _MAY_DIVIDE, _TRUE)
        if repeats:
            yield Quad(node, _REPEATS, _TRUE)
        sustained = model.most_sustained
        if bowed and not sonority.broken and sustained is not None and len(notes) > sustained:
            longest_first = sorted(lasting, reverse=True)
            yield Quad(node, _OVERHELD, decimal(longest_first[sustained]))
        yield from _reason_quads(node, as_written, notes, sonority.in_force.strings)

    def _manner(self, sonority: Sonority) -> Callable[[Stop], Playing]:
        """How the stop is taken as it is marked.

        The stick, like the hair, lies on neighbouring strings only; fingers pluck any.
        """
        if sonority.broken:
            return lambda stop: stop.broken
        if self._uses(sonority.in_force, _PLUCKED):
            return lambda stop: stop.plucked
        return lambda stop: stop.struck

    def _uses(self, in_force: InForce, kinds: frozenset[str]) -> bool:
        techniques = self._knowledge.techniques
        return any(
            techniques[iri].kinds & kinds for iri in in_force.techniques if iri in techniques
        )


def _sameness(sonority: Sonority) -> object:
    """What is equal where a stop is taken again just as it was."""
    return _midis(sonority.notes), sonority.lasting, sonority.broken, sonority.in_force


def _midis(notes: Sequence[Note]) -> tuple[int, ...]:
    return tuple(note.pitch.midi for note in notes)


def _hardest_share(
    sonority: Sonority, solver: StopSolver, playing_of: Callable[[Stop], Playing]
) -> tuple[int, int]:
    """The notes, as a slice, of the worst placed player when a divisi is shared out at its best.

    Players take neighbouring notes of the chord, from the lowest part to the highest; what can
    be taken goes before what cannot, then few notes to a player before many.
    """
    count = len(sonority.notes)
    midis = _midis(sonority.notes)
    if sonority.parts == 1:
        return 0, count
    sharings = []
    for cuts in combinations(range(1, count), sonority.parts - 1):
        shares = [share for share in pairwise((0, *cuts, count)) if share[1] - share[0] > 1]
        effort, worst = max(
            (playing_of(solver.solve(midis[low:high])).effort, (low, high)) for low, high in shares
        )
        most = max(high - low for low, high in shares)
        sharings.append((isinf(effort), most, effort, worst))
    return min(sharings)[-1]


def _reason_quads(
    node: NamedNode,
    playing: Playing,
    notes: Sequence[Note],
    strings: Sequence[InstrumentString],
) -> Iterator[Quad]:
    if playing.reasons:
        gravest = playing.reasons[0]
        text = gravest.text
        if gravest.code == "one-string-for-two":
            text = _too_few_strings([note.pitch for note in notes], strings)
        yield Quad(node, _BECAUSE_OF, Literal(text))
        for limit in gravest.limits:
            yield Quad(node, _RESTS_ON, NamedNode(limit))
        if gravest.physical and playing.grade is Grade.IMPOSSIBLE:
            yield Quad(node, _BARRED, _TRUE)
    if any(reason.code == "stop-count" for reason in playing.reasons):
        yield Quad(node, _EXCEEDS, _TRUE)


def _too_few_strings(pitches: Sequence[Pitch], strings: Sequence[InstrumentString]) -> str:
    """Name the lowest notes that have fewer strings than there are notes, and these strings."""
    for count, pitch in enumerate(pitches, start=1):
        low_enough = [string for string in strings if string.pitch.midi <= pitch.midi]
        if len(low_enough) < count:
            break
    names = " and ".join(string.name for string in reversed(low_enough))
    plural = "s" if len(low_enough) > 1 else ""
    who = "both" if count == len(pitches) == 2 else _listed(pitches[:count])
    return f"{who} lie on the {names} string{plural} only"


def _listed(pitches: Sequence[Pitch]) -> str:
    names = [pitch.name for pitch in pitches]
    return f"{', '.join(names[:-1])} and {names[-1]}"
