"""Reads the measures of one part: time, attributes, notes and directions."""

from collections.abc import Callable

from msgspec import Struct

from orchq.exact import Fraction
from orchq.knowledge import Instrument
from orchq.notation import Pitch
from orchq.readers.attributes import (
    Meter,
    clef_names,
    has_octave_clef,
    in_sounding_octave,
    is_usual,
    meter_of,
    signature_of,
    staff_tunings,
)
from orchq.readers.barlines import barline_marks
from orchq.readers.call_lines import CallLines
from orchq.readers.directions import Direction, DirectionReader, MarkDraft
from orchq.readers.events import Events, Head, TickConverter
from orchq.readers.marks import Marks
from orchq.readers.notes import NoteDraft, NoteParser
from orchq.readers.numbers import Ticks, exact, simplest, whole
from orchq.readers.pitches import PitchBook, Transposition
from orchq.readers.read_limits import ReadLimits
from orchq.readers.retuning import retuned_in, retuned_unasked
from orchq.readers.signs import FERMATA, FINAL_BARLINE, SCORDATURA, Signs
from orchq.readers.source import Element, InputFile
from orchq.score import Measure

_LONGEST = 100_000  # quarter notes in one measure
_MOST_DIVISIONS = 10_000_000


class Shared:
    """State that the readers of all parts of one file share."""

    def __init__(self, signs: Signs, source: InputFile, limits: ReadLimits) -> None:
        self.signs = signs
        self.source = source
        self.limits = limits
        self.remarks = source.remarks
        self.notes = NoteParser(signs, source)
        self.directions = DirectionReader(signs)
        self.pitches = PitchBook(source)
        self.measures_read = 0
        self.notes_read = 0

    def count_measure(self, element: Element) -> None:
        """Count a measure. Raises ``ReadError`` when there are more than allowed."""
        self.measures_read += 1
        if self.measures_read > self.limits.max_measures:
            raise self.source.fault(
                f"has more than {self.limits.max_measures} measures (max_measures)", element
            )

    def count_note(self, element: Element) -> None:
        """Count a note. Raises ``ReadError`` when there are more than allowed."""
        self.notes_read += 1
        if self.notes_read > self.limits.max_notes:
            raise self.source.fault(
                f"has more than {self.limits.max_notes} notes (max_notes)", element
            )


class _Place(Struct):
    """The reading position in the measure, in ticks."""

    now: Ticks = 0
    furthest: Ticks = 0
    last_note: Ticks = 0

    def advance(self, ticks: Ticks) -> None:
        self.now += ticks
        self.furthest = max(self.furthest, self.now)


class PartReader:
    """Reads the measures of one part in turn; its attributes hold the results."""

    def __init__(self, iri: str, name: str, instrument: Instrument, shared: Shared) -> None:
        self.name = name
        self.instrument = instrument
        self._shared = shared
        self._source = shared.source
        self.events = Events(iri, shared.signs)
        self.marks = Marks(iri)
        self.measures: list[Measure] = []
        self.has_transpose = False
        self.has_octave_clef = False
        self.is_sung = False
        self._call_lines = CallLines(lambda iri: "StringCall" in shared.signs.kinds(iri))
        self._transposition = Transposition()
        self._clock: TickConverter | None = None
        self._meter = Meter()
        self._onset = Fraction(0)
        self._number = ""
        self._last_number: int | None = None
        self._place = _Place()
        self._starts: list[Ticks] = []
        self._voices: set[tuple[int | None, str]] = set()
        self._handlers: dict[str, Callable[[Element], None]] = {
            "note": self._note,
            "backup": self._backup,
            "forward": self._forward,
            "attributes": self._attributes,
            "direction": self._direction,
            "sound": self._sound,
            "barline": self._barline,
        }

    @property
    def clock(self) -> TickConverter:
        """The length of a tick; without ``<divisions>`` it is a quarter note."""
        if self._clock is None:
            self.remark("no <divisions>: durations are read as quarter notes")
            self._set_clock(TickConverter(1))
        assert self._clock is not None
        return self._clock

    def _quarters(self, ticks: Ticks) -> Fraction:
        return self.clock.quarters(ticks) if ticks else Fraction(0)

    def remark(self, message: str, times: int = 1) -> None:
        """Add a remark about this measure of the part."""
        self._shared.remarks.add(self.name, message, self._number, times)

    def read_measure(self, element: Element, content: Element) -> None:
        """Read a measure; ``element`` has its number. Raises ``ReadError``."""
        self._shared.count_measure(element)
        index = len(self.measures)
        self._number = (element.get("number") or "").strip() or str(index + 1)
        number = whole(self._number)
        if number is not None:
            # Numbers that restart mark a new movement, or a trio, in the same file.
            if self._last_number is not None and self._last_number > 1 >= number:
                self._end_movement()
            self._last_number = number
        self._place = _Place()
        self._starts.clear()
        self._voices.clear()
        self.events.begin_measure(index, self._number, self._onset, self._clock or TickConverter(1))
        handlers = self._handlers
        for place, child in enumerate(content):
            handler = handlers.get(child.tag)
            if handler is not None:
                self.marks.child = place
                handler(child)
        self.marks.child = None
        self._end_measure(element)

    def _end_measure(self, element: Element) -> None:
        index = len(self.measures)
        clock = self._clock or TickConverter(1)
        length = clock.quarters(self._place.furthest)
        if length > _LONGEST:
            raise self._source.fault(f"the measure lasts {int(length)} quarter notes", element)
        if not length:
            length = self._meter.length or Fraction(0)
        self.events.end_measure()
        places = []
        if self.marks.needs_places:
            places = [*(clock.quarters(start) for start in self._starts), length]
        self.marks.end_measure(index, self._number, self._onset, places, self._voices)
        self.measures.append(
            Measure(
                index,
                self._number,
                self._onset,
                length,
                self._meter.beats,
                self._meter.beat_type,
                element.get("implicit") == "yes",
            )
        )
        self._onset += length

    def _end_movement(self) -> None:
        """Numbers restart: spans end, and the barline before counts as final, printed or not."""
        self.events.slurs.end_movement()
        self.marks.hairpins.end_movement()
        last = self.measures[-1]
        if any(
            mark.measure_index == last.index and FINAL_BARLINE in mark.directives
            for mark in self.marks.found[-3:]
        ):
            return
        self.marks.add_marks([MarkDraft((FINAL_BARLINE,))], last.length)
        self.marks.end_measure(last.index, last.number, last.onset, [], set())

    # ---------------------------------------------------------------------------- notes

    def _note(self, element: Element) -> None:
        draft = self._shared.notes.parse(element)
        for sign in draft.unknown:
            self.remark(f"the technical sign {sign!r} is unknown")
        place = self._place
        if draft.chord:
            start = place.last_note
        else:
            start = place.last_note = place.now
            self._starts.append(start)
            self.events.close()
        self.is_sung = self.is_sung or draft.sung
        length: Ticks = 0
        if not draft.grace:
            length = draft.duration if draft.duration is not None else self._length(draft, element)
            if not draft.chord:
                place.advance(length)
        if not draft.hidden:
            self._voices.add((draft.staff, draft.voice))
        if draft.dynamics:
            for dynamics in draft.dynamics:
                direction = self._shared.directions.dynamics_at_note(dynamics, draft.staff)
                self.marks.add(direction, self._quarters(start))
        if FERMATA in draft.marks:
            draft.marks = [mark for mark in draft.marks if mark != FERMATA]
            self.marks.add(
                Direction(staff=draft.staff, marks=[MarkDraft((FERMATA,))]), self._quarters(start)
            )
        if draft.is_played:
            self._played(draft, element, start, length)
        elif draft.hidden and draft.pitch is not None:
            self.remark("hidden notes are left out")
        elif draft.unpitched:
            self.remark("notes without pitch are left out")

    def _played(self, draft: NoteDraft, element: Element, start: Ticks, length: Ticks) -> None:
        assert draft.pitch is not None
        self._shared.count_note(element)
        if self._clock is None:
            self.events.change_clock(self.clock)
        book = self._shared.pitches
        pitch = book.sounding(draft.pitch, self._transposition, element)
        head = Head(draft, pitch, self.marks.child or 0)
        if book.is_microtone(draft.pitch):
            self.remark("microtones are rounded to the nearest semitone")
            if self.instrument.frets is not None:
                self.remark(f"no fret of the {self.instrument.label} stops a microtone")
        if draft.chord and self.events.join(head):
            return
        self.events.add(head, start, length, self._source.line_of(element))

    def _length(self, draft: NoteDraft, element: Element) -> Ticks:
        """The duration of a note that states none, from its shape."""
        printed = draft.printed_length
        if printed is None:
            raise self._source.fault("the note has neither <duration> nor <type>", element)
        self.remark("notes without <duration> get the duration of their shape")
        return simplest(printed * self.clock.divisions)

    # ---------------------------------------------------------------------------- time

    def _backup(self, element: Element) -> None:
        self.events.close()
        place = self._place
        place.now -= self._moved(element)
        if place.now < 0:
            self.remark("<backup> goes back beyond the start of the measure")
            place.now = 0

    def _forward(self, element: Element) -> None:
        self.events.close()
        self._place.advance(self._moved(element))

    def _moved(self, element: Element) -> Ticks:
        text = element.findtext("duration")
        moved = exact(text)
        if moved is None or moved < 0:
            raise self._source.fault(f"<{element.tag}> has <duration> {text!r}", element)
        return moved

    def _set_clock(self, clock: TickConverter) -> None:
        """Set the divisions of a quarter note from this position on."""
        if self._clock is not None:
            ratio = Fraction(clock.divisions) / self._clock.divisions
            place = self._place
            place.now = simplest(place.now * ratio)
            place.furthest = simplest(place.furthest * ratio)
            place.last_note = simplest(place.last_note * ratio)
            self._starts = [simplest(start * ratio) for start in self._starts]
        self._clock = clock
        self.events.change_clock(clock)

    # ---------------------------------------------------------------------- attributes

    def _attributes(self, element: Element) -> None:
        divisions = element.find("divisions")
        if divisions is not None:
            number = exact(divisions.text)
            if number is None or not 0 < number <= _MOST_DIVISIONS:
                raise self._source.fault(f"<divisions> is {divisions.text!r}", divisions)
            if self._clock is None or self._clock.divisions != number:
                self._set_clock(TickConverter(number))
        time = element.find("time")
        if time is not None:
            self._meter = meter_of(time)
        for transpose in element.findall("transpose"):
            self.has_transpose = True
            self._transposition = Transposition.of(transpose, self._source)
        self.has_octave_clef = self.has_octave_clef or has_octave_clef(element)
        self._clefs(element)
        signature = signature_of(element)
        if signature is not None:
            self._add_marks([MarkDraft(signature=signature)])
        for details in element.findall("staff-details"):
            retuned = in_sounding_octave(staff_tunings(details), self.instrument)
            if not is_usual(retuned, self.instrument):
                self._add_marks([MarkDraft(retuned=retuned)])

    def _clefs(self, element: Element) -> None:
        for staff, clef in clef_names(element):
            directive = self._shared.signs.knowledge.directive_for_clef(clef)
            if directive is not None:
                marks = [MarkDraft(directives=(directive,))]
                self._place_direction(Direction(staff=staff, marks=marks), 0)

    # ------------------------------------------------------------------ words and signs

    def _direction(self, element: Element) -> None:
        direction = self._shared.directions.read(element)
        for mark in direction.marks:
            mark.retuned = in_sounding_octave(mark.retuned, self.instrument)
            self._retune_by_words(mark)
        self._call_lines.follow(direction, (len(self.measures), self._quarters(self._place.now)))
        self._place_direction(direction, direction.offset)

    def _retune_by_words(self, mark: MarkDraft) -> None:
        """Where words ask for a tuning, letters are strings and notes, and F is not forte."""
        known = self._shared.signs.knowledge.directives
        calls = tuple(iri for iri in mark.directives if "TuningCall" in known[iri].kinds)
        strings = self.instrument.standard.strings
        if mark.retuned:
            return
        mark.retuned = retuned_in(mark.text, strings) if calls else ()
        for call in calls:
            mark.retuned = mark.retuned or self._strings_of(known[call].tuning)
        mark.retuned = mark.retuned or retuned_unasked(mark.text, strings)
        if mark.retuned:
            mark.directives = calls or (SCORDATURA,)

    def _strings_of(self, tuning: str | None) -> tuple[tuple[int, Pitch], ...]:
        """The strings of a variant tuning (an IRI) that differ from the usual tuning."""
        usual = {string.number: string.pitch for string in self.instrument.standard.strings}
        variants = (each for each in self.instrument.variants if each.iri == tuning)
        return tuple(
            (string.number, string.pitch)
            for variant in variants
            for string in variant.strings
            if usual.get(string.number) != string.pitch
        )

    def _sound(self, element: Element) -> None:
        direction = Direction()
        self._shared.directions.add_sound(direction, element)
        self._place_direction(direction, exact(element.findtext("offset")) or 0)

    def _place_direction(self, direction: Direction, offset: Ticks) -> None:
        self.marks.add(direction, self._quarters(self._place.now), self._quarters(offset))

    def _barline(self, element: Element) -> None:
        self._add_marks(barline_marks(element))

    def _add_marks(self, marks: list[MarkDraft]) -> None:
        if marks:
            self.marks.add_marks(marks, self._quarters(self._place.now))
