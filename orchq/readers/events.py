"""Groups notes into events: chords, cues, ties, IRIs."""

from msgspec import Struct

from orchq.exact import Fraction
from orchq.notation import Pitch
from orchq.readers.iri_names import slug
from orchq.readers.notes import NoteDraft
from orchq.readers.numbers import Ticks
from orchq.readers.signs import Signs
from orchq.readers.spans import SlurEnd, Slurs
from orchq.score import Event, HarmonicRole, Note, reading_order


class Head(Struct):
    """A notehead with its sounding pitch, and its place among the children of the measure."""

    draft: NoteDraft
    pitch: Pitch
    child: int


class _Open(Struct):
    """An event whose chord may still grow."""

    iri: str
    ticks: Ticks
    duration: Ticks
    heads: list[Head]
    line: int | None


class TickConverter:
    """Ticks to quarter notes, each value worked out once."""

    def __init__(self, divisions: Ticks) -> None:
        self.divisions = divisions
        self._quarters: dict[Ticks, Fraction] = {}

    def quarters(self, ticks: Ticks) -> Fraction:
        """Return a time in quarter notes."""
        found = self._quarters.get(ticks)
        if found is None:
            found = self._quarters[ticks] = Fraction(ticks) / self.divisions
        return found


class Events:
    """Builds the events of one part in the order of the file.

    ``found`` is complete once the measure has been ended. ``small`` counts small heads that were
    left out of a chord, ``small_cues`` those taken for cues by their size alone.
    """

    def __init__(self, part_iri: str, signs: Signs) -> None:
        self._iri = part_iri
        self._signs = signs
        self._open: _Open | None = None
        self._ordinals: dict[str, int] = {}
        self._measure = (0, "", Fraction(0))
        self._clock = TickConverter(1)
        self._in_measure: list[Event] = []
        self._voices: dict[str, str] = {}
        self.slurs = Slurs(part_iri)
        self.found: list[Event] = []
        self.small = 0
        self.small_cues = 0

    def begin_measure(self, index: int, number: str, onset: Fraction, clock: TickConverter) -> None:
        """Start a measure; its index, printed number and onset apply to all its events."""
        self._measure = (index, number, onset)
        self._clock = clock
        self._ordinals.clear()

    def change_clock(self, clock: TickConverter) -> None:
        """Set the divisions of a quarter note from here on."""
        self.close()
        self._clock = clock

    def add(self, head: Head, ticks: Ticks, duration: Ticks, line: int | None) -> None:
        """Add a note that begins an event, with its line in the file."""
        self.close()
        voice = self._voice(head.draft.voice)
        ordinal = self._ordinals.get(voice, 0) + 1
        self._ordinals[voice] = ordinal
        iri = f"{self._iri}.m{self._measure[0]}.v{voice}.{ordinal}"
        self._open = _Open(iri, ticks, duration, [head], line)
        self._add_slurs(head.draft)

    def join(self, head: Head) -> bool:
        """Add another note of the chord; false when no event is open."""
        if self._open is None:
            return False
        self._open.heads.append(head)
        self._add_slurs(head.draft)
        return True

    def close(self) -> None:
        """Close the event: no further note will join it."""
        if self._open is not None:
            self._in_measure.append(self._event(self._open))
            self._open = None

    def end_measure(self) -> None:
        """Order the events of the measure."""
        self.close()
        self._in_measure.sort(key=reading_order)
        self.found.extend(self._in_measure)
        self._in_measure.clear()
        self.slurs.end_measure()

    def _voice(self, voice: str) -> str:
        name = self._voices.get(voice)
        if name is None:
            name = self._voices[voice] = slug(voice)
        return name

    def _add_slurs(self, draft: NoteDraft) -> None:
        if draft.slurs and self._open is not None:
            place = self._clock.quarters(self._open.ticks)
            where = SlurEnd(self._measure[0], place, draft.voice, self._open.iri)
            self.slurs.add(draft.slurs, where)

    def _event(self, opened: _Open) -> Event:
        first = opened.heads[0].draft
        heads = opened.heads if len(opened.heads) == 1 else self._sounding_heads(opened.heads)
        if first.is_cue and not first.cue:
            self.small_cues += len(heads)
        marks: set[str] = set()
        for head in heads:
            marks.update(head.draft.marks)
        index, number, onset = self._measure
        offset = self._clock.quarters(opened.ticks)
        return Event(
            iri=opened.iri,
            measure_index=index,
            measure_number=number,
            offset=offset,
            onset=onset + offset,
            duration=self._clock.quarters(opened.duration),
            notes=tuple(
                _note(head, f"{opened.iri}.n{place}") for place, head in enumerate(heads, 1)
            ),
            voice=first.voice,
            staff=first.staff or 1,
            marks=self._signs.shared(marks),
            grace=first.grace,
            cue=first.is_cue,
            strokes=max(head.draft.strokes for head in heads),
            line=opened.line,
        )

    def _sounding_heads(self, heads: list[Head]) -> list[Head]:
        """Leave small heads out of a full-size chord, unless they show where a harmonic sounds."""
        if heads[0].draft.is_cue:
            return heads
        harmonic = any(head.draft.notehead == "diamond" or head.draft.role for head in heads)
        kept = []
        for head in heads:
            if head.draft.is_cue and head.draft.role is None:
                if not harmonic:
                    self.small += 1
                    continue
                head.draft.role = "sounding"
            kept.append(head)
        return kept


def _note(head: Head, iri: str) -> Note:
    draft = head.draft
    role: HarmonicRole | None = draft.role
    return Note(
        iri,
        head.pitch,
        draft.tie_forward,
        draft.tied_back,
        draft.string,
        draft.finger,
        role,
        draft.notehead,
        draft.xml_id,
        head.child,
    )
