"""Notes that a score did not have: in place of a rest, or in a voice beside a chord."""

from collections.abc import Callable, Iterable, Iterator, Mapping
from copy import deepcopy
from fractions import Fraction

from orchq.readers.printed_text import NOTE_VALUES, with_dots
from orchq.readers.source import Element
from orchq.score import Event, Part
from orchq.writers.measure_elements import Location, MeasureElements
from orchq.writers.note_elements import (
    join_chord,
    make_pitched,
    take_all,
    text_child,
    write_length,
    write_pitch,
)

_BESIDE = ".short"
"""The end of the IRI of an event that stands beside the one it was split from."""


class Adding:
    """Adds events to one part; ``signature`` gives the sharps of the key at an event."""

    def __init__(
        self, elements: MeasureElements, part: Part, signature: Callable[[Event], int]
    ) -> None:
        self._elements = elements
        self._part = part
        self._signature = signature

    def add(self, event: Event, known: Mapping[str, Event]) -> str | None:
        """Add an event, or return why it cannot be written."""
        base = known.get(event.iri.removesuffix(_BESIDE))
        if base is not None:
            return self._beside(base, event)
        return self._in_rest(event)

    def _beside(self, base: Event, event: Event) -> str | None:
        """Notes that begin with a chord and are shorter, in a voice of their own."""
        places = self._elements.chord(Location(base.measure_index, base.notes[0].child or 0))
        lead = self._elements.standing(places)[0]
        template = deepcopy(self._elements.get(lead))
        whole = Fraction(template.findtext("duration") or 0)
        if not whole or base.duration == 0:
            return "the chord has no written duration"
        short = whole * event.duration / base.duration
        if short.denominator != 1:
            return "the divisions of the file are too coarse for the short notes"
        numbers = [int(v) for v in self._elements.voices(base.measure_index) if v.isdecimal()]
        voice = str(max(numbers, default=1) + 1)
        shift = self._shift(base)
        last = places[-1]
        self._elements.follow(last, _moved(template, "backup", whole))
        for number, note in enumerate(event.notes):
            head = self._bare(template, number)
            write_pitch(head, note.pitch.octaves_up(shift), self._signature(event))
            text_child(head, "voice", voice)
            if not write_length(head, event.duration, str(short)):
                return "the short notes have no simple length"
            self._elements.follow(last, head)
        self._elements.follow(last, _moved(template, "forward", whole - short))
        return None

    def _shift(self, base: Event) -> int:
        note = base.notes[0]
        element = self._elements.look(Location(base.measure_index, note.child or 0))
        octave = int(element.findtext("pitch/octave") or 0)
        return octave - note.pitch.spelling[2] if element.find("pitch") is not None else 0

    def _bare(self, template: Element, number: int) -> Element:
        """A note of the same voice and staff with nothing printed at it."""
        head = deepcopy(template)
        join_chord(head)
        take_all(head, "tie", "accidental", "stem", "notehead", "notations", "play", "rest")
        if number == 0:
            take_all(head, "chord")
        return head

    def _in_rest(self, event: Event) -> str | None:
        """Notes in place of a rest, which is divided where it is longer."""
        found = self._rest_at(event)
        if found is None:
            return "the part has no rest of its own there that could be divided"
        place, begin, end, divisions = found
        rest = self._elements.get(place)
        lengths = (event.offset - begin, event.duration, end - event.offset - event.duration)
        template = deepcopy(rest)
        inner = template.find("rest")
        if inner is not None:
            inner.attrib.pop("measure", "")
        if not lengths[0] and not lengths[2]:
            pieces = list(self._heads(template, event, divisions))
        else:
            before, inside, after = (
                _pieces(template, shapes, divisions)
                for shapes in (_simple(lengths[0]), [lengths[1]], _simple(lengths[2]))
            )
            if before is None or inside is None or after is None:
                return "the rest there cannot be divided into simple lengths"
            pieces = [*before, *self._heads(inside[0], event, divisions), *after]
        self._elements.put(place, pieces[0])
        for piece in pieces[1:]:
            self._elements.follow(place, piece)
        return None

    def _heads(self, rest: Element, event: Event, divisions: int) -> Iterator[Element]:
        for number, note in enumerate(event.notes):
            head = deepcopy(rest)
            written = note.pitch.octaves_up(self._octaves_up())
            make_pitched(head, written, self._signature(event))
            if head.find("type") is None:
                write_length(head, event.duration, str(event.duration * divisions))
            if number:
                join_chord(head)
            yield head

    def _octaves_up(self) -> int:
        """By how many octaves the part is written above where it sounds."""
        for event in self._part.events:
            note = event.notes[0]
            if note.child is not None:
                return self._shift(event)
        return 0

    def _rest_at(self, event: Event) -> tuple[Location, Fraction, Fraction, int] | None:
        """The rest that covers an event: its place, begin and end in quarters, and the ticks."""
        divisions = self._elements.divisions(event.measure_index)
        if divisions is None:
            return None
        now = Fraction(0)
        for child, span in enumerate(self._elements.spans(event.measure_index)):
            if span.tag not in {"note", "backup", "forward"}:
                continue
            place = Location(event.measure_index, child)
            element = self._elements.look(place)
            if element.find("chord") is not None or element.find("grace") is not None:
                continue
            length = Fraction(element.findtext("duration") or 0) / divisions
            if span.tag == "backup":
                now -= length
                continue
            if (
                element.find("rest") is not None
                and now <= event.offset
                and event.end - event.onset + event.offset <= now + length
            ):
                return place, now, now + length, divisions
            now += length
        return None


def _pieces(rest: Element, lengths: Iterable[Fraction], divisions: int) -> list[Element] | None:
    """Rests of these lengths in quarters, or ``None`` where one has no simple shape."""
    pieces = []
    for quarters in lengths:
        piece = deepcopy(rest)
        ticks = quarters * divisions
        if ticks.denominator != 1 or not write_length(piece, quarters, str(ticks)):
            return None
        pieces.append(piece)
    return pieces


def _moved(template: Element, name: str, ticks: Fraction) -> Element:
    moved = template.makeelement(name)
    text = template.makeelement("duration")
    text.text = str(ticks)
    moved.append(text)
    return moved


def _simple(length: Fraction) -> Iterator[Fraction]:
    """Lengths with at most one dot that together make up a length, the longest first."""
    values = sorted(
        (with_dots(value, dots) for value in NOTE_VALUES.values() for dots in (0, 1)), reverse=True
    )
    while length > 0:
        fitting = next((value for value in values if value <= length), None)
        if fitting is None:
            yield length  # has no shape: refused by who writes it
            return
        yield fitting
        length -= fitting
