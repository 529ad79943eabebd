"""Derived facts of a score as triples, and the places where findings are reported."""

from collections.abc import Iterable, Iterator, Mapping, Sequence
from functools import cached_property
from itertools import groupby, islice
from math import floor
from time import perf_counter

from msgspec import Struct, field
from msgspec.structs import replace
from pyoxigraph import Literal, NamedNode, Quad

from orchq.derive.broken_chords import breaking_quads
from orchq.derive.doubts import doubt_quads
from orchq.derive.forgotten_calls import forgotten_calls
from orchq.derive.keys import key_quads
from orchq.derive.noteheads import note_quads
from orchq.derive.pedals import hand_quads, pedal_quads
from orchq.derive.placed import InForce, Placed, PluckedPassage
from orchq.derive.printed import printed_quads
from orchq.derive.returns import slurred_events
from orchq.derive.states import called_string
from orchq.derive.staves import Staff, Staves, staves_of
from orchq.derive.strings import string_quads
from orchq.derive.swells import swell_quads
from orchq.derive.timing import timing_quads
from orchq.knowledge import Knowledge, Register, Weighing, Zone
from orchq.score import Event, Part, Score
from orchq.terms import RDF_TYPE, RDFS, oq

_LABEL = NamedNode(RDFS + "label")
_TRUE = Literal(True)
_CHECKED_EVENT, _CALLED_EVENT = oq("CheckedEvent"), oq("CalledEvent")
_OF_PART, _IN_STATE = oq("ofPart"), oq("inState")
_AT_EVENT = oq("atEvent")


MOST_AT_ONCE = 10_000
"""Notes from which on a part is derived and checked by itself, and small parts are not joined."""
_CHUNK = 5_000


class Derived(Struct, frozen=True):
    """What was derived from some parts, and where to report what is found.

    ``quads`` are the derived triples; the mappings are complete when all of them were taken.
    ``places`` maps events to part and event; ``first_events`` maps nodes that stand for many
    events (states, passages, parts) to the event where a finding is reported; ``weighed`` maps
    the nodes of weighings to their values, ``names`` other nodes to their labels.
    """

    parts: Sequence[Part]
    quads: Iterable[Quad]
    places: Mapping[str, tuple[Part, Event]]
    first_events: Mapping[str, str]
    weighed: Mapping[str, tuple[Weighing, Zone]]
    names: Mapping[str, str]


class _Found(Struct, frozen=True):
    places: dict[str, tuple[Part, Event]] = field(default_factory=dict)
    first_events: dict[str, str] = field(default_factory=dict)
    weighed: dict[str, tuple[Weighing, Zone]] = field(default_factory=dict)
    names: dict[str, str] = field(default_factory=dict)


class Derivation:
    """The facts of a score that rules need, all at once or some parts after others.

    ``staves`` are the staves that everything is derived from. ``seconds`` is the time that
    derivation took so far.
    """

    def __init__(
        self, score: Score, knowledge: Knowledge, *, level: str | None, trust: str | None
    ) -> None:
        started = perf_counter()
        self._score = score
        self._knowledge = knowledge
        self.staves: Staves = staves_of(score, knowledge, level=level, trust=trust)
        self.seconds = perf_counter() - started

    @cached_property
    def whole(self) -> Derived:
        """What is derived from all parts."""
        derived = self._derived(self._played())
        return replace(derived, quads=tuple(derived.quads))

    @property
    def quads(self) -> Iterable[Quad]:
        """The derived triples of all parts."""
        return self.whole.quads

    @property
    def first_events(self) -> Mapping[str, str]:
        """The event where to report what is found at another node of any part."""
        return self.whole.first_events

    def by_parts(self, most: int = MOST_AT_ONCE) -> Iterator[Derived]:
        """Yield what is derived from a few parts at a time, with up to so many notes together.

        Rules look at one part; what hangs on others is derived. So whoever lets go of each
        before taking the next needs memory for the largest part only.
        """
        batch: list[Part] = []
        for part in self._played():
            if batch and sum(each.note_count for each in (*batch, part)) > most:
                yield self._derived(batch)
                self._forget(batch)
                batch = []
            batch.append(part)
        if batch or not self.staves:
            yield self._derived(batch)

    def _played(self) -> list[Part]:
        return [part for part in self._score.parts if self.staves.get(part.iri)]

    def _forget(self, parts: Iterable[Part]) -> None:
        for staff in (staff for part in parts for staff in self.staves[part.iri]):
            staff.forget()

    def _derived(self, parts: Sequence[Part]) -> Derived:
        found = _Found()
        quads = self._timed(self._quads(parts, found))
        return Derived(parts, quads, found.places, found.first_events, found.weighed, found.names)

    def _timed(self, quads: Iterator[Quad]) -> Iterator[Quad]:
        while True:
            started = perf_counter()
            chunk = list(islice(quads, _CHUNK))
            self.seconds += perf_counter() - started
            if not chunk:
                return
            yield from chunk

    def _quads(self, parts: Iterable[Part], found: "_Found") -> Iterator[Quad]:
        """Yield the triples of some parts, filling the mappings on the way."""
        scopes = None
        for part in parts:
            deriving = _PartDerivation(self.staves[part.iri])
            scopes = self.staves[part.iri][0].around.scopes
            yield from deriving.quads()
            yield from key_quads(self._score, part, self._knowledge)
            yield from breaking_quads(self._score, part, self.staves[part.iri])
            found.places.update(
                (event.iri, (part, event)) for event in part.events if not event.cue
            )
            found.first_events.update(deriving.first_events)
            found.names.update(deriving.string_names)
        if scopes is not None:
            yield from scopes.quads()
            found.weighed.update(scopes.weighed)


def derive(
    score: Score, knowledge: Knowledge, *, level: str | None = None, trust: str | None = None
) -> Derivation:
    """Derive the facts that rules need and queries cannot compute.

    ``level`` is the IRI of the level of player; without it a section is taken to be of
    orchestral players and a single player to be a soloist. ``trust`` is the IRI of the one
    source to follow.
    """
    return Derivation(score, knowledge, level=level, trust=trust)


class _PartDerivation:
    """Derives facts from the staves of one part, at least one."""

    def __init__(self, staves: Sequence[Staff]) -> None:
        self._staves = staves
        self._around = staves[0].around
        self._knowledge = self._around.knowledge
        self._instrument = self._around.instrument
        self._part = self._around.part
        self._states: dict[object, str] = {}
        self._strings_done: set[str] = set()
        self._ceilings: dict[str, int | None] = {}
        self.first_events: dict[str, str] = {}
        self.string_names: dict[str, str] = {}

    def quads(self) -> Iterator[Quad]:
        part = self._part
        self.first_events[part.iri] = next(event.iri for event in part.events if not event.cue)
        scope = self._around.scopes.scope(self._instrument, None, self._around.level_of())
        yield Quad(NamedNode(part.iri), oq("underScope"), scope)
        for staff in self._staves:
            for item in staff.placed:
                yield from self._event_quads(item)
            yield from self._hand_quads(staff)
            yield from self._register_quads(staff.placed)
            yield from self._clef_quads(staff.placed)
            yield from self._plucked_quads(staff)
            yield from swell_quads(self._part, staff.placed, self._knowledge)
            yield from self._told_at_events(
                doubt_quads([*staff.doubts, *forgotten_calls(self._around, staff.placed)])
            )
        yield from self._open_string_quads()
        yield from self._slur_quads()

    # ------------------------------------------------------- events and states

    def _event_quads(self, item: Placed) -> Iterator[Quad]:
        event = NamedNode(item.event.iri)
        yield Quad(event, RDF_TYPE, _CHECKED_EVENT)
        yield Quad(event, _OF_PART, NamedNode(self._part.iri))
        if item.in_force.string_call or any(note.string for note in item.event.notes):
            yield Quad(event, RDF_TYPE, _CALLED_EVENT)
        key = _state_key(item)
        state = self._states.get(key)
        if state is None:
            state = self._name_state(item)
            self._states[key] = state
            self.first_events[state] = item.event.iri
            yield from self._state_quads(NamedNode(state), item.in_force, event)
        yield Quad(event, _IN_STATE, NamedNode(state))
        for sign in item.bow_signs:
            yield Quad(event, oq("showsBowSign"), NamedNode(sign))
        if item.leaves is not None:
            yield Quad(event, oq("leavesCall"), NamedNode(item.leaves.iri))
        yield from note_quads(item, self._ceilings[state], self._knowledge)

    def _name_state(self, item: Placed) -> str:
        """An asserted state keeps its name unless signs at the event add to it."""
        asserted = item.event.state
        if asserted and asserted.iri not in self.first_events:
            return asserted.iri
        return f"{self._part.iri}.state{len(self._states) + 1}"

    def _state_quads(
        self, state: NamedNode, in_force: InForce, first_event: NamedNode
    ) -> Iterator[Quad]:
        knowledge = self._knowledge
        yield Quad(state, RDF_TYPE, oq("PlayingState"))
        yield Quad(state, _OF_PART, NamedNode(self._part.iri))
        yield Quad(state, oq("firstEvent"), first_event)
        scopes = [
            self._around.scope(in_force, technique) for technique in (None, *in_force.techniques)
        ]
        highest = self._around.scopes.first_reported("CompassLimit", "highestPitch", scopes)
        self._ceilings[state.value] = None if highest is None else floor(highest)
        for scope in scopes:
            yield Quad(state, oq("underScope"), scope)
        involved: set[str] = set()
        rank: int | None = None
        for iri in in_force.techniques:
            yield Quad(state, oq("usesTechnique"), NamedNode(iri))
            technique = knowledge.techniques.get(iri)
            if technique is not None:
                involved |= {iri, *technique.implies}
                if "VibratoStage" in technique.kinds:
                    rank = technique.rank if technique.rank is not None else rank
        for iri in involved:
            yield Quad(state, oq("involves"), NamedNode(iri))
        if rank is not None:
            yield Quad(state, oq("vibratoRank"), Literal(rank))
        if in_force.dynamic is not None:
            yield Quad(state, oq("atDynamic"), NamedNode(in_force.dynamic))
            if in_force.dynamic in knowledge.dynamics:
                rank_of_dynamic = knowledge.dynamics[in_force.dynamic].rank
                yield Quad(state, oq("dynamicRank"), Literal(rank_of_dynamic))
        for iri in in_force.doubtful:
            yield Quad(state, oq("doubtfullyUses"), NamedNode(iri))
        if in_force.solo:
            yield Quad(state, oq("isSolo"), _TRUE)
        if in_force.parts is not None:
            yield Quad(state, oq("dividesInto"), Literal(in_force.parts))
        yield from self._string_quads(state, in_force)

    def _string_quads(self, state: NamedNode, in_force: InForce) -> Iterator[Quad]:
        for string in in_force.strings:
            yield Quad(state, oq("hasStringInUse"), NamedNode(string.iri))
            if in_force.retuned and string.iri not in self._strings_done:
                self._strings_done.add(string.iri)
                yield Quad(NamedNode(string.iri), RDF_TYPE, oq("String"))
                yield Quad(NamedNode(string.iri), oq("openMidi"), Literal(string.pitch.midi))
                self.string_names[string.iri] = f"{string.name} string"
                label = Literal(self.string_names[string.iri])
                yield Quad(NamedNode(string.iri), _LABEL, label)
        lowest_string = min(in_force.strings, key=lambda string: string.pitch)
        yield Quad(state, oq("hasLowestString"), NamedNode(lowest_string.iri))
        lowest = lowest_string.pitch.midi
        if not in_force.retuned:
            variants = (each for each in self._instrument.variants if not each.when_printed)
            lowest = min([lowest, *(each.lowest.pitch.midi for each in variants)])
        yield Quad(state, oq("lowestReachMidi"), Literal(lowest))
        if in_force.string_call is None:
            return
        yield Quad(state, oq("callsString"), NamedNode(in_force.string_call))
        call = self._knowledge.directives[in_force.string_call]
        called = called_string(call, in_force.strings, self._instrument)
        if called is not None:
            yield Quad(state, oq("isConfinedTo"), NamedNode(called.iri))
        elif call.string_number is not None or call.string_name is not None:
            yield Quad(state, oq("callsAbsentString"), _TRUE)

    # --------------------------------------------------------------- the left hand

    def _hand_quads(self, staff: Staff) -> Iterator[Quad]:
        level_of = self._around.level_of
        yield from self._told_at_events(staff.stops.quads(self._part, staff.placed, level_of))
        for item, reader, model in staff.harmonics:
            yield from self._told_at_events(reader.quads(item, model))
        yield from self._told_at_events(timing_quads(staff))
        yield from self._told_at_events(string_quads(staff))
        yield from printed_quads(staff)

    def _open_string_quads(self) -> Iterator[Quad]:
        """Facts about hands and feet on strings that are not stopped, over all staves."""
        if not self._instrument.open_only:
            return
        placed = [item for staff in self._staves for item in staff.placed]
        for quads in (pedal_quads, hand_quads):
            yield from self._told_at_events(quads(self._around, placed))

    def _told_at_events(self, quads: Iterable[Quad]) -> Iterator[Quad]:
        """Yield the triples, recording where to report nodes at an event."""
        for quad in quads:
            if quad.predicate == _AT_EVENT:
                assert isinstance(quad.subject, NamedNode)
                assert isinstance(quad.object, NamedNode)
                self.first_events[quad.subject.value] = quad.object.value
            yield quad

    # ------------------------------------------------- what spans several events

    def _register_quads(self, placed: Iterable[Placed]) -> Iterator[Quad]:
        for register in self._instrument.registers:
            if not register.mainly_solo:
                continue
            inside = False
            for item in placed:
                was, inside = inside, _lies_in(item.event, register)
                if inside and not was:
                    event = NamedNode(item.event.iri)
                    yield Quad(event, oq("entersRegister"), NamedNode(register.iri))

    def _clef_quads(self, placed: Iterable[Placed]) -> Iterator[Quad]:
        """Yield where a doubtful clef begins, and how high it leads if that is too high."""
        runs = groupby(placed, key=lambda item: item.doubtful_clef)
        for clef, run in ((clef, list(run)) for clef, run in runs if clef is not None):
            first = NamedNode(run[0].event.iri)
            yield Quad(first, oq("opensDoubtfulClef"), NamedNode(clef))
            highest = max(note.pitch for item in run for note in item.event.notes)
            ceilings = (self._ceilings[self._states[_state_key(item)]] for item in run)
            ceiling = min((c for c in ceilings if c is not None), default=highest.midi)
            if highest.midi > ceiling:
                yield Quad(first, oq("reachesInDoubt"), Literal(highest.name))

    def _plucked_quads(self, staff: Staff) -> Iterator[Quad]:
        names: dict[int, tuple[NamedNode, PluckedPassage]] = {}
        for item in staff.placed:
            passage = item.plucked_passage
            if passage is not None and item.event.state is None:
                name = NamedNode(f"{item.event.iri}.plucked")
                names.setdefault(id(passage), (name, passage))
        for name, passage in names.values():
            missing = staff.returns.missing_at(passage)
            first = (missing or passage.events[0]).iri
            self.first_events[name.value] = first
            yield Quad(name, RDF_TYPE, oq("PluckedPassage"))
            yield Quad(name, oq("firstEvent"), NamedNode(first))
            if missing is not None:
                yield Quad(name, oq("lacksReturn"), _TRUE)

    def _slur_quads(self) -> Iterator[Quad]:
        cues = {event.iri for event in self._part.events if event.cue}
        for iri in sorted(slurred_events(self._part) - cues):
            yield Quad(NamedNode(iri), oq("isSlurred"), _TRUE)


def _state_key(item: Placed) -> object:
    """The key of a playing state and of a passage, which has one dynamic and string."""
    asserted = item.event.state
    passage = asserted.iri if asserted else item.passage
    return passage, item.event.staff, item.in_force.techniques, item.in_force.dynamic


def _lies_in(event: Event, register: Register) -> bool:
    lowest = register.lowest.midi if register.lowest else -1
    highest = register.highest.midi if register.highest else 999
    return any(lowest <= note.pitch.midi <= highest for note in event.notes)
