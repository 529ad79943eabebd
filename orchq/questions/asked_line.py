"""The line that is to be scored: pitches, or measures of a part, and how hard it is to finger."""

from collections.abc import Sequence
from fractions import Fraction
from functools import cached_property
from pathlib import Path
from statistics import median

from msgspec import Struct
from msgspec.structs import replace

from orchq.derive.path import DifficultyGrade, difficulty_of, fingering_of
from orchq.errors import OrchqError, hint
from orchq.knowledge import Instrument, InstrumentString, Knowledge
from orchq.notation import Pitch
from orchq.questions.pitch_names import parse_pitches
from orchq.readers import read_score
from orchq.score import Event, Mark, Measure, Note, Part, Score

_BEATS = 4
_LINE = "https://w3id.org/orchq/asked-line"


class PlacedNote(Struct, frozen=True):
    """A note of a line, the string it is played on, and its length in quarter notes.

    ``plain`` is the highest string that has it, where players may take it as well unless another
    is called for.
    """

    pitch: Pitch
    string: InstrumentString | None
    plain: InstrumentString | None
    length: float


class AskedLine(Struct, frozen=True, dict=True):
    """A line as a part of one staff; ``tempo`` is in quarter notes a minute, if it is known."""

    part: Part
    tempo: float | None
    knowledge: Knowledge

    @cached_property
    def pitches(self) -> tuple[Pitch, ...]:
        """The sounding pitches, one after another."""
        return tuple(note.pitch for event in self.part.events for note in event.notes)

    @property
    def low(self) -> Pitch:
        """The lowest pitch."""
        return min(self.pitches)

    @property
    def high(self) -> Pitch:
        """The highest pitch."""
        return max(self.pitches)

    @cached_property
    def rate(self) -> float | None:
        """Notes a second, by the middle length of the notes; ``None`` without a tempo."""
        if self.tempo is None:
            return None
        lengths = [float(event.duration) for event in self.part.events if event.duration]
        return self.tempo / 60 / median(lengths) if lengths else None

    def moved(self, octaves: int) -> "AskedLine":
        """The same line some octaves higher."""
        if octaves == 0:
            return self
        events = tuple(
            replace(
                event,
                notes=tuple(
                    replace(note, pitch=note.pitch.octaves_up(octaves)) for note in event.notes
                ),
            )
            for event in self.part.events
        )
        return AskedLine(replace(self.part, events=events), self.tempo, self.knowledge)

    def lies(self, instrument: Instrument, level: str) -> "tuple[PlacedNote, ...]":
        """Where each note lies on an instrument, by the likeliest fingering of the line.

        Where no hand is known, or none takes a note, it lies on the highest string that has it.
        """
        part = replace(self.part, instrument=instrument.iri)
        score = Score(_LINE, "line", (part,))
        fingered = fingering_of(score, self.knowledge, level=level)
        taken = {each.note.iri: each.string for own in fingered for each in own.notes}
        strings = instrument.standard.strings
        placed = []
        for event in self.part.events:
            for note in event.notes:
                below = [each for each in strings if each.pitch.midi <= note.pitch.midi]
                plain = max(below, key=lambda each: each.pitch.midi, default=None)
                number = taken.get(note.iri)
                string = next((each for each in strings if each.number == number), plain)
                length = float(event.duration or 0)
                placed.append(PlacedNote(note.pitch, string, plain, length))
        return tuple(placed)

    def difficulty(self, instrument: Instrument, level: str) -> DifficultyGrade | None:
        """How hard it is for the left hand on an instrument; ``None`` where no hand is known."""
        part = replace(self.part, instrument=instrument.iri)
        graded = difficulty_of(Score(_LINE, "line", (part,)), self.knowledge, level=level)
        return graded[0].grade if graded else None


def line_of_pitches(pitches: str, tempo: float | None, knowledge: Knowledge) -> AskedLine:
    """Make a line of quarter notes from pitches."""
    events = tuple(
        Event(
            iri=f"{_LINE}/e{place}",
            measure_index=place // _BEATS,
            measure_number=str(place // _BEATS + 1),
            offset=Fraction(place % _BEATS),
            onset=Fraction(place),
            duration=Fraction(1),
            notes=(Note(f"{_LINE}/e{place}n", pitch),),
        )
        for place, pitch in enumerate(parse_pitches(pitches))
    )
    count = (len(events) - 1) // _BEATS + 1
    measures = tuple(
        Measure(index, str(index + 1), Fraction(index * _BEATS), Fraction(_BEATS))
        for index in range(count)
    )
    marks = () if tempo is None else (_tempo_mark(tempo),)
    part = Part(
        iri=f"{_LINE}/part",
        id="P1",
        index=0,
        name="line",
        instrument=None,
        section=True,
        measures=measures,
        events=events,
        marks=marks,
    )
    return AskedLine(part, tempo, knowledge)


def line_of_score(
    file: str, part: str | None, measures: str | None, tempo: float | None, knowledge: Knowledge
) -> AskedLine:
    """Take a line from a score.

    Raises ``OrchqError`` when the file cannot be read, and when there is no such part or measure,
    or no note in it.
    """
    if "\0" in file:
        raise OrchqError(f"{file!r} is not the name of a file")
    score = read_score(Path(file), knowledge)
    chosen = _part(score.parts, part, file)
    wanted = _measures(chosen, measures, file)
    events = tuple(
        event
        for event in chosen.events
        if event.measure_index in wanted and event.notes and not event.cue
    )
    if not events:
        raise OrchqError(f"{file}: no note of {chosen.name} stands in these measures")
    printed = [float(mark.tempo) for mark in chosen.marks if mark.tempo is not None]
    kept = tuple(mark for mark in chosen.marks if mark.tempo is not None)
    if tempo is not None:
        kept = (_tempo_mark(tempo),)
    line = replace(
        chosen, events=events, marks=kept, slurs=(), hairpins=(), tuning=(), section=True
    )
    return AskedLine(line, tempo or next(iter(printed), None), knowledge)


def _part(parts: Sequence[Part], name: str | None, file: str) -> Part:
    named = [each for each in parts if name is None or each.name.casefold() == name.casefold()]
    if not named:
        names = [each.name for each in parts]
        raise OrchqError(f"{file} has no part called {name!r}; {hint(name or '', names)}")
    return named[0]


def _measures(part: Part, text: str | None, file: str) -> frozenset[int]:
    """The indices of measures with these printed numbers, such as 12 or 12-15."""
    if text is None:
        return frozenset(measure.index for measure in part.measures)
    first, _, last = text.partition("-")
    numbers = [measure.number for measure in part.measures]
    ends = [number.strip() for number in (first, last or first)]
    for number in ends:
        if number not in numbers:
            raise OrchqError(f"{file}: {part.name} has no measure {number}")
    low, high = (numbers.index(number) for number in ends)
    return frozenset(measure.index for measure in part.measures[low : high + 1])


def _tempo_mark(tempo: float) -> Mark:
    return Mark(
        f"{_LINE}/tempo",
        0,
        "1",
        Fraction(0),
        Fraction(0),
        tempo=Fraction(tempo).limit_denominator(1000),
    )
