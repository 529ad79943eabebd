"""A finding in its context, the candidates against it, and the register of remedies."""

from collections.abc import Callable, Iterator, Sequence
from itertools import islice

from msgspec import Struct
from msgspec.structs import replace

from orchq.advice.edits import Edit, change_states, change_word, exchange_techniques, print_word
from orchq.derive.hand import StopSolver
from orchq.derive.placed import InForce, Placed
from orchq.derive.staves import Staff
from orchq.knowledge import Instrument, Knowledge, Limit, Weighing
from orchq.rules.finding import Finding
from orchq.score import Event, Mark, Note, Part, Score


class Candidate(Struct, frozen=True):
    """One rewriting to try.

    ``do`` states what and why in one sentence. ``edits`` are rewritings of parts, by their IRIs;
    ``first`` and ``last`` are the outermost events that they can affect. Of the candidates of
    one remedy the first that passes is offered, and of those that differ in ``kind`` one each.
    """

    do: str
    edits: tuple[tuple[str, Edit], ...]
    first: Event
    last: Event
    kind: str = ""


class Case(Struct, frozen=True):
    """A finding with all that a remedy may look at.

    ``place`` is the index of the event found on its staff.
    """

    finding: Finding
    score: Score
    staff: Staff
    place: int

    @property
    def part(self) -> Part:
        """The part that the finding is about."""
        return self.staff.part

    @property
    def instrument(self) -> Instrument:
        """The instrument of the part."""
        return self.staff.around.instrument

    @property
    def knowledge(self) -> Knowledge:
        """The graph."""
        return self.staff.knowledge

    @property
    def placed(self) -> Sequence[Placed]:
        """The events of the staff, as the rules judge them."""
        return self.staff.placed

    @property
    def event(self) -> Event:
        """The event where the finding is reported."""
        return self.placed[self.place].event

    @property
    def in_force(self) -> InForce:
        """What holds at the event."""
        return self.placed[self.place].in_force

    @property
    def level(self) -> str:
        """The level of player (an IRI) at the event."""
        return self.staff.around.level_of(self.in_force)

    @property
    def players(self) -> int | None:
        """How many players read the event, ``None`` where several do and nothing says how many."""
        if self.in_force.solo:
            return 1
        return self.part.players if self.part.players or self.part.section else 1

    @property
    def solver(self) -> StopSolver | None:
        """The hand for what is in force, or ``None`` where the graph has none."""
        return self.staff.solver_of(self.in_force)

    @property
    def limits(self) -> tuple[Limit, ...]:
        """The limits that the finding rests on."""
        named = {evidence.limit for evidence in self.finding.evidence}
        return tuple(limit for limit in self.knowledge.limits if limit.iri in named)

    def limits_of(self, kind: str, technique: str) -> tuple[Limit, ...]:
        """The limits of a kind that hold for a technique here."""
        return self.staff.around.limits(kind, self.in_force, technique)

    def weighings(self, kind: str, technique: str | None) -> tuple[Weighing, ...]:
        """The weighings of limits of a kind for a technique here."""
        return self.staff.around.weighings(kind, self.in_force, technique)

    @property
    def concerned(self) -> tuple[Note, ...]:
        """The notes of the event that the finding names."""
        return tuple(n for n in self.event.notes if n.pitch.name in self.finding.notes)

    @property
    def tied(self) -> bool:
        """Whether the event is tied to another, so that its notes cannot change alone."""
        return any(note.tie_forward or note.tied_back for note in self.event.notes)

    def label(self, iri: str) -> str:
        """The name of a term."""
        return self.knowledge.label(iri)

    def stretch(self, holds: Callable[[Placed], bool]) -> list[Event]:
        """This event and those around it, without a gap, of which something holds."""
        first = last = self.place
        while first > 0 and holds(self.placed[first - 1]):
            first -= 1
        while last + 1 < len(self.placed) and holds(self.placed[last + 1]):
            last += 1
        return [item.event for item in self.placed[first : last + 1]]

    def onwards(self, holds: Callable[[Placed], bool]) -> list[Event]:
        """Those events of the stretch that do not come before this one."""
        events = self.stretch(holds)
        return events[events.index(self.event) :]

    def after(self, event: Event) -> Placed | None:
        """What follows an event of the stretch on its staff."""
        places = (n for n, item in enumerate(self.placed) if item.event.iri == event.iri)
        place = next(places, len(self.placed)) + 1
        return self.placed[place] if place < len(self.placed) else None

    def tied_to(self, note: Note) -> list[tuple[Event, Note]]:
        """A note of the event with those that it is tied to on its staff, in time order."""
        chain = [(self.event, note)]
        for item in reversed(self.placed[: self.place]):
            if not chain[0][1].tied_back or item.event.end < chain[0][0].onset:
                break
            chain[:0] = _tied(item.event, chain[0][1], forward=True)
        for item in self.placed[self.place + 1 :]:
            if not chain[-1][1].tie_forward or item.event.onset > chain[-1][0].end:
                break
            chain += _tied(item.event, chain[-1][1], forward=False)
        return chain

    def word(self, directive: str) -> Mark | None:
        """The mark that last printed a directive, at this event or before it."""
        printed = [
            mark
            for mark in self.part.marks
            if directive in mark.directives
            and mark.onset <= self.event.onset
            and mark.staff in (None, self.event.staff)
        ]
        return max(printed, key=lambda mark: mark.onset, default=None)

    def offer(
        self, do: str, *edits: Edit, over: Sequence[Event] = (), kind: str = ""
    ) -> Iterator[Candidate]:
        """Yield a candidate that rewrites this part, over these events or this one alone.

        Where the event is plucked, all that is plucked with it is judged too: whether a bow is
        taken up again shows at its end.
        """
        events = over or (self.event,)
        last = events[-1]
        plucked = self.placed[self.place].plucked_passage
        if plucked is not None and plucked.events:
            last = max(last, plucked.events[-1], key=lambda event: event.onset)
        rewritings = tuple((self.part.iri, edit) for edit in edits)
        yield Candidate(do, rewritings, events[0], last, kind)

    def instead(self, old: str, new: str, events: Sequence[Event]) -> tuple[Edit, ...]:
        """Edits that let another dynamic or word begin with the first of the events.

        In playing states that the excerpt asserts it holds for the events alone.
        """
        iris = [event.iri for event in events]
        if old in self.knowledge.dynamics:
            states = change_states(iris, lambda state: replace(state, dynamic=new))
        else:
            states = exchange_techniques(iris, off=[old], on=[new])
        mark = self.word(old)
        if mark is None:
            return (states,)
        if mark.onset == events[0].onset:
            return change_word(mark.iri, old, new), states
        return print_word(events[0], new), states

    def until(self, events: Sequence[Event]) -> str:
        """How far a rewriting goes, in words, where it leaves the measure."""
        if events[-1].measure_index == self.event.measure_index:
            return ""
        return f" as far as measure {events[-1].measure_number}"


def _tied(event: Event, note: Note, *, forward: bool) -> list[tuple[Event, Note]]:
    """The note of an event that is tied to a neighbouring one of the same pitch, if there is."""
    found = (
        (event, each)
        for each in event.notes
        if each.pitch.midi == note.pitch.midi and (each.tie_forward if forward else each.tied_back)
    )
    return list(islice(found, 1))


RemedyFunction = Callable[[Case], Iterator[Candidate]]
REMEDIES: dict[str, RemedyFunction] = {}
"""The function of each remedy, by the slug of its individual in the graph."""


def remedy(slug: str) -> Callable[[RemedyFunction], RemedyFunction]:
    """Register the function that works a remedy of the graph out; best candidates first."""

    def register(function: RemedyFunction) -> RemedyFunction:
        REMEDIES[slug] = function
        return function

    return register
