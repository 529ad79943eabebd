"""Stops as triples: the hand model's grades of the notes one player takes at once."""

from collections.abc import Callable, Iterator, Sequence
from fractions import Fraction
from itertools import combinations, pairwise
from math import isinf

from msgspec import Struct
from pyoxigraph import Literal, NamedNode, Quad

from orchq.derive.clock import Clock
from orchq.derive.hand import (
    Grade,
    HandModel,
    Playing,
    Stop,
    StopSolver,
    hand_model,
    solver_for,
)
from orchq.derive.placed import InForce, Placed
from orchq.derive.pressure import Pressure
from orchq.derive.released_notes import release_quads, released
from orchq.derive.sonorities import Sonority, sonorities
from orchq.derive.states import ARCO
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
_MAY_DIVIDE, _REPEATS, _PRESSED = oq("mayDivide"), oq("repeatsStop"), oq("isPressed")
_BECAUSE_OF, _RESTS_ON = oq("becauseOf"), oq("restsOn")
_BARRED, _EXCEEDS = oq("isBarredByStrings"), oq("exceedsStopCount")
_TRUE = Literal(True)
_GRADES = {grade: oq(f"grade-{grade.label}") for grade in Grade}


class Graded(Struct, frozen=True):
    """A sonority with its grade by the hand model.

    ``notes`` and ``lasting`` are the share of the worst placed player; ``stop`` is what one hand
    can do with them, ``as_written`` in the way that is marked. ``repeats`` is true where the same
    stop is repeated without a break, ``pressed`` where it comes quickly, among other stops
    or for several players each.
    """

    sonority: Sonority
    notes: tuple[Note, ...]
    lasting: tuple[Fraction, ...]
    stop: Stop
    as_written: Playing
    bowed: bool
    repeats: bool
    pressed: bool
    model: HandModel


class Stops:
    """Grades the sonorities of a part; shapes are solved once for each tuning and level.

    Without a ``clock`` no stop counts as too quick.
    """

    def __init__(
        self,
        knowledge: Knowledge,
        instrument: Instrument,
        trust: str | None,
        clock: Clock | None = None,
    ) -> None:
        self._clock = clock
        self._knowledge = knowledge
        self._instrument = instrument
        self._trust = trust
        self._has_bow = knowledge.techniques[ARCO].is_on(instrument)
        self._solvers: dict[tuple[tuple[int, ...], str], StopSolver | None] = {}

    def quads(
        self, part: Part, placed: Sequence[Placed], level_of: Callable[[InForce], str]
    ) -> Iterator[Quad]:
        """Yield the triples of every stop on one staff, and of held notes that are left.

        See ``graded``.
        """
        for graded in self.graded(part, placed, level_of):
            yield from _stop_quads(graded)
        left: set[str] = set()
        for sonority in sonorities(part, placed, self._knowledge):
            solver = self.solver(sonority.in_force, level_of(sonority.in_force))
            if sonority.held and solver is not None:
                gone = released(sonority, solver, self._together(sonority), left)
                left.update(note.iri for note in gone)
                if gone:
                    yield from release_quads(sonority, gone)

    def graded(
        self, part: Part, placed: Sequence[Placed], level_of: Callable[[InForce], str]
    ) -> Iterator[Graded]:
        """Yield every stop on one staff; ``level_of`` gives the player's level (an IRI).

        Left out are stops on instruments whose hand the graph does not know, and such as lie
        below the lowest string.
        """
        last: tuple[object, Fraction] | None = None
        found = sonorities(part, placed, self._knowledge)
        stops = [sonority for sonority in found if len(sonority.notes) > 1]
        pressure = Pressure(placed, stops, self._knowledge, self._clock)
        for sonority in stops:
            key = _sameness(sonority)
            repeats = last is not None and last[0] == key and last[1] >= sonority.event.onset
            last = key, sonority.event.end
            solver = self.solver(sonority.in_force, level_of(sonority.in_force))
            if solver is not None and sonority.notes[0].pitch.midi >= min(solver.model.strings):
                yield self._graded(sonority, solver, pressure, repeats=repeats)

    def solver(self, in_force: InForce, level: str) -> StopSolver | None:
        """The solver for the strings in use at a level (an IRI).

        ``None`` where the graph does not describe the hand on the instrument, such as one that an
        extension describes only in part: its stops are then not graded.
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

    def _graded(
        self, sonority: Sonority, solver: StopSolver, pressure: Pressure, *, repeats: bool
    ) -> Graded:
        playing_of = self._manner(sonority, pressure)
        first, last = _hardest_share(sonority, solver, playing_of)
        notes = sonority.notes[first:last]
        stop = solver.solve(_midis(notes))
        return Graded(
            sonority=sonority,
            notes=notes,
            lasting=sonority.lasting[first:last],
            stop=stop,
            as_written=playing_of(stop),
            bowed=self._has_bow and not self._uses(sonority.in_force, _NOT_BOWED),
            repeats=repeats,
            pressed=pressure.presses(sonority),
            model=solver.model,
        )

    def _manner(self, sonority: Sonority, pressure: Pressure) -> Callable[[Stop], Playing]:
        """How the stop is taken as it is marked: the bow breaks a chord in two where it can."""
        if sonority.broken:
            return lambda stop: stop.broken
        bowed = self._has_bow and not self._uses(sonority.in_force, _NOT_BOWED)
        if bowed and pressure.may_set_anew(sonority):
            return lambda stop: stop.paired
        return self._together(sonority)

    def _together(self, sonority: Sonority) -> Callable[[Stop], Playing]:
        """How notes sound together.

        The stick, like the hair, lies on neighbouring strings only; fingers pluck any.
        """
        if not self._has_bow or self._uses(sonority.in_force, _PLUCKED):
            return lambda stop: stop.plucked
        return lambda stop: stop.struck

    def _uses(self, in_force: InForce, kinds: frozenset[str]) -> bool:
        techniques = self._knowledge.techniques
        return any(
            techniques[iri].kinds & kinds for iri in in_force.techniques if iri in techniques
        )


def _stop_quads(graded: Graded) -> Iterator[Quad]:
    sonority, notes = graded.sonority, graded.notes
    node = NamedNode(f"{sonority.event.iri}.stop")
    event = NamedNode(sonority.event.iri)
    yield Quad(node, RDF_TYPE, _STOP)
    yield Quad(event, _HAS_STOP, node)
    yield Quad(node, _AT_EVENT, event)
    yield Quad(node, _SPELLED_OUT, Literal("-".join(note.pitch.name for note in notes)))
    yield Quad(node, _NOTE_COUNT, Literal(len(notes)))
    yield Quad(node, _STOPPED_COUNT, Literal(graded.as_written.stopped))
    yield Quad(node, _IS_BOWED, Literal(graded.bowed))
    yield Quad(node, _AS_WRITTEN, _GRADES[graded.as_written.grade])
    yield Quad(node, _BROKEN, _GRADES[graded.stop.broken.grade])
    yield Quad(node, _SOUNDS, decimal(min(graded.lasting)))
    if sonority.may_divide:
        yield Quad(node, _MAY_DIVIDE, _TRUE)
    else:
        yield Quad(node, _PRESSED, Literal(graded.pressed))
    if graded.repeats:
        yield Quad(node, _REPEATS, _TRUE)
    most = graded.model.most_sustained
    # In several voices full values over a chord are convention.
    held = graded.bowed and not sonority.broken and not sonority.voices
    if held and most is not None and len(notes) > most:
        yield Quad(node, _OVERHELD, decimal(sorted(graded.lasting, reverse=True)[most]))
    yield from _reason_quads(node, graded.as_written, notes, sonority.in_force.strings)


def _sameness(sonority: Sonority) -> object:
    """The key by which a repeated stop is recognized."""
    return _midis(sonority.notes), sonority.lasting, sonority.broken, sonority.in_force


def _midis(notes: Sequence[Note]) -> tuple[int, ...]:
    return tuple(note.pitch.midi for note in notes)


def _hardest_share(
    sonority: Sonority, solver: StopSolver, playing_of: Callable[[Stop], Playing]
) -> tuple[int, int]:
    """The slice of notes of the worst placed player in the best distribution of a divisi.

    Players take neighboring notes of the chord, from the lowest part to the highest; playable
    distributions are preferred, then those with few notes per player.
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
