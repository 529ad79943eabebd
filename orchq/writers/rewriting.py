"""A rewritten score written back into the MusicXML that it was read from.

The rewritten parts are compared with those that were read, and each difference becomes a change of
the elements that it came from. What has no element of its own, or none that is read as meant, is
refused with the reason: nothing is written then.
"""

from collections.abc import Iterable, Iterator
from copy import deepcopy

from msgspec.structs import replace

from orchq.errors import OrchqError
from orchq.knowledge import Knowledge
from orchq.readers.signs import ARTIFICIAL_HARMONIC, Signs
from orchq.readers.source import Element
from orchq.score import Event, Hairpin, Mark, Note, Part, Score, Slur
from orchq.writers.added_notes import Adding
from orchq.writers.direction_elements import Directing, is_empty, without_wedge
from orchq.writers.measure_elements import Location, MeasureElements
from orchq.writers.note_elements import (
    Signing,
    add_leaf,
    join_chord,
    lead_chord,
    leaves,
    make_rest,
    take_leaf,
    write_pitch,
    written_pitch,
)
from orchq.writers.score_text import ScoreText

_MOST_SLURS = 17
_BROKEN = "arpeggiate"


class NotWritableError(OrchqError):
    """A rewriting that cannot be written into the MusicXML of the score."""


def write_into(text: ScoreText, before: Score, after: Score, knowledge: Knowledge) -> bytes:
    """Return the text of a score with what differs between two states of it, and nothing else.

    ``before`` was read from the text, ``after`` are the same parts rewritten. Raises
    ``NotWritableError`` for a difference that cannot be written.
    """
    signs = Signs(knowledge)
    for old, new in zip(before.parts, after.parts, strict=True):
        if old != new:
            _PartWriting(text, old, new, signs).write()
    return text.spliced()


class _PartWriting:
    """One part, as it was read and as it is to be."""

    def __init__(self, text: ScoreText, old: Part, new: Part, signs: Signs) -> None:
        self._old = old
        self._new = new
        self._signs = signs
        self._elements = MeasureElements(text, old.id)
        self._signing = Signing(signs)
        self._directing = Directing(signs)
        self._events = {event.iri: event for event in old.events}

    def write(self) -> None:
        """Put all changes of the part into the text."""
        after = {event.iri: event for event in self._new.events}
        gone = [iri for iri in self._events if iri not in after]
        self._slurs()
        for iri in gone:
            self._rest(self._events[iri])
        for iri, event in after.items():
            if iri in self._events and event != self._events[iri]:
                self._event(self._events[iri], event)
        adding = Adding(self._elements, self._old, self._signature)
        for iri, event in after.items():
            reason = adding.add(event, self._events) if iri not in self._events else None
            if reason is not None:
                raise NotWritableError(f"{self._where(event)}: {reason}")
        self._hairpins()
        self._marks()
        self._elements.splice()

    def _where(self, at: Event | Mark) -> str:
        return f"{self._old.name}, measure {at.measure_number}"

    def _signature(self, event: Event) -> int:
        """The sharps of the key signature at an event, negative for flats."""
        keys = (m for m in self._old.marks if m.signature is not None and m.onset <= event.onset)
        last = max(keys, key=lambda mark: mark.onset, default=None)
        return (last.signature or 0) if last is not None else 0

    # ------------------------------------------------------------------------ events

    def _heads(self, event: Event) -> list[Location]:
        places = [
            Location(event.measure_index, note.child)
            for note in event.notes
            if note.child is not None
        ]
        if len(places) != len(event.notes):
            raise NotWritableError(f"{self._where(event)}: the note was not read from this file")
        return places

    def _rest(self, event: Event) -> None:
        first, *others = self._elements.chord(self._heads(event)[0])
        for place in others:
            self._elements.drop(place)
        if event.grace:
            self._elements.drop(first)
        else:
            make_rest(self._elements.get(first))

    def _event(self, old: Event, new: Event) -> None:
        if (old.duration, old.onset, old.voice) != (new.duration, new.onset, new.voice):
            raise NotWritableError(
                f"{self._where(old)}: the notes move into voices of their own, which must be"
                " written out by hand"
            )
        if old.notes != new.notes:
            self._notes(old, new)
        lead = self._elements.get(self._lead(old))
        heads = [self._elements.get(place) for place in self._elements.standing(self._heads(old))]
        for sign in sorted(old.marks - new.marks):
            for head in heads:
                self._signing.take(head, sign)
        for sign in sorted(new.marks - old.marks):
            chord = self._signs.element(_BROKEN) == sign
            for head in heads if chord else [lead]:
                if not self._signing.put(head, sign):
                    label = self._signs.knowledge.label(sign)
                    raise NotWritableError(f"{self._where(old)}: MusicXML has no sign for {label}")

    def _lead(self, event: Event) -> Location:
        """The first head of an event that still stands."""
        return self._elements.standing(self._heads(event))[0]

    def _notes(self, old: Event, new: Event) -> None:
        """Write the heads of an event: those that stay in place, others where old ones were."""
        places = dict(zip((note.iri for note in old.notes), self._heads(old), strict=True))
        was = {note.iri: note for note in old.notes}
        spare = [iri for iri in places if iri not in {note.iri for note in new.notes}]
        first = deepcopy(self._elements.get(self._heads(old)[0]))
        shift = self._shift(old.notes[0], first, old)
        written: list[Location] = []
        for note in new.notes:
            iri = note.iri if note.iri in places else spare.pop(0) if spare else None
            if iri is not None:
                self._head(self._elements.get(places[iri]), was[iri], note, new, shift)
                written.append(places[iri])
                continue
            copied = deepcopy(first)
            join_chord(copied)
            self._head(copied, old.notes[0], note, new, shift)
            if note.role == "sounding":
                self._small(copied)
            self._elements.follow(written[-1], copied)
        for iri in spare:
            self._elements.drop(places[iri])
        lead = min(written, key=lambda place: place.child)
        if lead != min(places.values(), key=lambda place: place.child):
            lead_chord(self._elements.get(lead), first)

    def _head(self, element: Element, old: Note, new: Note, event: Event, shift: int) -> None:
        if new.pitch != old.pitch:
            write_pitch(element, new.pitch.octaves_up(shift), self._signature(event))
        if new.string != old.string:
            for leaf in leaves(element):
                if leaf.tag == "string":
                    take_leaf(leaf)
            if new.string is not None:
                string = element.makeelement("string")
                string.text = str(new.string)
                add_leaf(element, "technical", string)
        if (new.role, new.notehead) != (old.role, old.notehead):
            sign = min(self._signs_of_harmonics(event), default=ARTIFICIAL_HARMONIC)
            self._signing.write_role(element, new, sign)

    def _signs_of_harmonics(self, event: Event) -> Iterator[str]:
        known = self._signs.knowledge.directives
        return (iri for iri in event.marks if iri in known and "harmonic" in known[iri].slug)

    def _small(self, element: Element) -> None:
        """A head that shows what sounds is printed small."""
        shape = element.find("type")
        if shape is not None:
            shape.set("size", "cue")

    def _shift(self, note: Note, element: Element, event: Event) -> int:
        """By how many octaves the part is written above where it sounds."""
        written = written_pitch(element)
        if written is None or written.spelling[:2] != note.pitch.spelling[:2]:
            raise NotWritableError(
                f"{self._where(event)}: the part transposes by other intervals than octaves"
            )
        return written.spelling[2] - note.pitch.spelling[2]

    # ------------------------------------------------------------------------- slurs

    def _slurs(self) -> None:
        kept = {slur.iri for slur in self._new.slurs}
        known = {slur.iri for slur in self._old.slurs}
        for slur in self._old.slurs:
            if slur.iri not in kept:
                self._take_slur(slur)
        for slur in self._new.slurs:
            if slur.iri not in known:
                self._put_slur(slur)

    def _take_slur(self, slur: Slur) -> None:
        starts = self._slur_signs(slur.first, "start")
        stops = self._slur_signs(slur.last, "stop")
        for number in starts.keys() & stops.keys():
            take_leaf(starts[number])
            take_leaf(stops[number])
            return
        raise NotWritableError(
            f"{self._where(self._events[slur.first])}: the ends of the slur bear different numbers"
        )

    def _slur_signs(self, event: str, kind: str) -> dict[str, Element]:
        heads = map(self._elements.get, self._heads(self._events[event]))
        return {
            leaf.get("number") or "1": leaf
            for head in heads
            for leaf in leaves(head)
            if leaf.tag == "slur" and leaf.get("type") == kind
        }

    def _put_slur(self, slur: Slur) -> None:
        ends = [self._events[slur.first], self._events[slur.last]]
        measures = range(ends[0].measure_index, ends[1].measure_index + 1)
        used = self._elements.slur_numbers(measures)
        free = [str(n) for n in range(1, _MOST_SLURS) if str(n) not in used]
        # a number may be used again where the slur before it has ended
        number = free[-1] if free else str(_MOST_SLURS - 1)
        for kind, event in zip(("start", "stop"), ends, strict=True):
            head = self._elements.get(self._heads(event)[0])
            leaf = head.makeelement("slur", {"type": kind, "number": number})
            add_leaf(head, None, leaf)

    # ------------------------------------------------------------------ words and signs

    def _hairpins(self) -> None:
        kept = {pin.iri for pin in self._new.hairpins}
        for pin in self._old.hairpins:
            if pin.iri not in kept:
                self._take_hairpin(pin)

    def _take_hairpin(self, pin: Hairpin) -> None:
        for measure, child in pin.ends:
            place = Location(measure, child)
            without_wedge(self._elements.get(place))
            self._drop_if_empty(place)

    def _drop_if_empty(self, place: Location) -> None:
        direction = self._elements.get(place)
        if direction.tag == "direction" and is_empty(direction):
            self._elements.drop(place)

    def _marks(self) -> None:
        old = {mark.iri: mark for mark in self._old.marks}
        for mark in self._new.marks:
            if mark.iri not in old:
                self._print(mark)
            elif mark != old[mark.iri] and mark != replace(old[mark.iri], text=""):
                self._change(old[mark.iri], mark)

    def _change(self, old: Mark, new: Mark) -> None:
        moved = replace(new, directives=old.directives, text=old.text, number=old.number) != old
        if moved or old.child is None:
            raise NotWritableError(
                f"{self._where(old)}: a retuning is not moved; print it by hand where it is to be"
            )
        place = Location(old.measure_index, old.child)
        gone = [each for each in old.directives if each not in new.directives]
        come = [each for each in new.directives if each not in old.directives]
        if not gone and old.number != new.number:
            gone = come = [each for each in old.directives if self._takes_number(each)]
        for each in gone:
            self._exchange(place, each, come, new)
            come = []

    def _takes_number(self, directive: str) -> bool:
        return "PlayerCall" in self._signs.kinds(directive)

    def _exchange(self, place: Location, old: str, new: list[str], mark: Mark) -> None:
        element = self._elements.get(place)
        number = mark.number if any(map(self._takes_number, new)) else None
        if element.tag == "direction":
            changed = self._directing.exchange(element, old, new, number)
        else:
            changed = self._at_note(element, old, new) if element.tag == "note" else None
        if changed is None:
            label = self._signs.knowledge.label(old)
            raise NotWritableError(
                f"{self._where(mark)}: {label} is not printed there by itself; change it by hand"
            )
        self._elements.put(place, changed)
        self._drop_if_empty(place)

    def _at_note(self, note: Element, old: str, new: list[str]) -> Element | None:
        """A dynamic among the signs of a note."""
        for leaf in leaves(note):
            if leaf.tag == "dynamics" and any(
                self._signs.element(str(child.tag)) == old for child in leaf
            ):
                take_leaf(leaf)
                for each in new:
                    elements = self._signs.knowledge.directives[each].elements
                    if not elements:
                        return None
                    dynamics = note.makeelement("dynamics")
                    dynamics.append(note.makeelement(elements[0]))
                    add_leaf(note, None, dynamics)
                return note
        return None

    def _print(self, mark: Mark) -> None:
        """Print directives right before the event that they are for."""
        iri = mark.iri.partition(".advice.")[0]
        event = self._events.get(iri)
        if event is None:
            raise NotWritableError(f"{self._where(mark)}: no note stands where the word is to be")
        place = self._heads(event)[0]
        if self._comes_first(mark):
            place = min((place, *self._just_before(event, place)), key=lambda each: each.child)
        self._elements.precede(place, self._directing.printed(mark.directives, mark.number))

    def _comes_first(self, mark: Mark) -> bool:
        """Whether the mark stands before all others at its onset."""
        return next(m for m in self._new.marks if m.onset == mark.onset).iri == mark.iri

    def _just_before(self, event: Event, place: Location) -> Iterable[Location]:
        """The directions at the onset of an event that stand in a row before it."""
        children = {
            m.child
            for m in self._old.marks
            if m.measure_index == event.measure_index and m.onset == event.onset
        }
        child = place.child
        while child - 1 in children and self._elements.tag(Location(place.measure, child - 1)) == (
            "direction"
        ):
            child -= 1
            yield Location(place.measure, child)
