"""Legal passages made at random, into which mistakes are planted.

A passage has ten measures of four quarters: two played, two of rest, two played (the window),
two of rest, two played. The rests leave time for every change of technique at the borders of
the window.
"""

from dataclasses import dataclass, field
from fractions import Fraction
from random import Random

from msgspec.structs import replace

from orchq.knowledge import Instrument, Knowledge
from orchq.notation import Pitch
from orchq.score import Event, Hairpin, Mark, Note, Part, Score, Slur
from orchq.terms import oq

WINDOW = 4
"""Index of the window's first measure; it has two."""
AFTER = 8
"""Index of the first measure after the second rest."""


@dataclass
class Passage:
    """A part under construction; times are quarter notes."""

    knowledge: Knowledge
    instrument: Instrument
    iri: str
    index: int
    section: bool
    players: int | None
    events: list[Event] = field(default_factory=list)
    marks: list[Mark] = field(default_factory=list)
    slurs: list[Slur] = field(default_factory=list)
    hairpins: list[Hairpin] = field(default_factory=list)

    @property
    def opens(self) -> list[int]:
        """Open strings as semitone numbers, highest first."""
        return [string.pitch.midi for string in self.instrument.standard.strings]

    def window(self) -> list[int]:
        """Places of the window's events in the list."""
        inside = range(WINDOW, WINDOW + 2)
        return [n for n, event in enumerate(self.events) if event.measure_index in inside]

    def sound(self, place: int, *midis: int, **changes: object) -> None:
        """Give the event at a place other notes; ``changes`` go to each note."""
        event = self.events[place]
        notes = tuple(
            Note(f"{event.iri}.n{n}", Pitch.from_midi(midi), **changes)  # type: ignore[arg-type]
            for n, midi in enumerate(midis, 1)
        )
        self.events[place] = replace(event, notes=notes)

    def sign(self, place: int, directive: str) -> None:
        """Print a directive at the event itself."""
        event = self.events[place]
        self.events[place] = replace(event, marks=event.marks | {oq(directive).value})

    def word(self, measure: int, *directives: str, number: int | None = None) -> None:
        """Print directives beside the staff at the start of a measure."""
        onset = Fraction(4 * measure)
        self.marks.append(
            Mark(
                iri=f"{self.iri}.m{measure}.{len(self.marks)}",
                measure_index=measure,
                measure_number=str(measure + 1),
                offset=Fraction(0),
                onset=onset,
                directives=tuple(oq(name).value for name in directives),
                number=number,
            )
        )

    def only(self, place: int, beats: int) -> None:
        """Make the event at a place the only one of its measure, so many quarters long."""
        event = self.events[place]
        start = Fraction(4 * event.measure_index)
        alone = replace(event, offset=Fraction(0), onset=start, duration=Fraction(beats))
        kept = [e for e in self.events if e.measure_index != event.measure_index]
        self.events = sorted([*kept, alone], key=lambda e: e.onset)
        self.clear_slurs()

    def clear_slurs(self) -> None:
        """Take the slurs out of the window."""
        inside = {self.events[place].iri for place in self.window()}
        known = {event.iri for event in self.events}
        self.slurs = [s for s in self.slurs if s.first in known - inside]

    def part(self) -> Part:
        """The finished part."""
        return Part(
            iri=self.iri,
            id=f"P{self.index}",
            index=self.index,
            name=f"{self.instrument.label} {self.index}",
            instrument=self.instrument.iri,
            section=self.section,
            players=self.players,
            events=tuple(self.events),
            marks=tuple(sorted(self.marks, key=lambda mark: mark.onset)),
            slurs=tuple(self.slurs),
            hairpins=tuple(self.hairpins),
        )


def passage(
    knowledge: Knowledge, instrument: Instrument, index: int, rng: Random, *, section: bool
) -> Passage:
    """Make a legal passage: stepwise, in the lower positions, mf at crotchet 80."""
    made = Passage(
        knowledge=knowledge,
        instrument=instrument,
        iri=f"tag:example.org,2026:planted#P{index}",
        index=index,
        section=section,
        players=6 if section else 1,
    )
    low = made.opens[-1] + 3
    height = rng.randint(low, low + 8)
    for measure in (0, 1, WINDOW, WINDOW + 1, AFTER, AFTER + 1):
        first = len(made.events)
        beat = Fraction(0)
        while beat < 4:
            length = rng.choice([Fraction(1), Fraction(1), Fraction(1, 2), Fraction(2)])
            length = min(length, 4 - beat)
            height = max(low, min(low + 16, height + rng.choice([-2, -1, 1, 2])))
            if instrument.pedals:
                height = _natural(height)
            made.events.append(_event(made, measure, beat, length, height))
            beat += length
        if rng.random() < 0.5:
            pair = made.events[first], made.events[first + 1]
            made.slurs.append(Slur(f"{pair[0].iri}.slur", pair[0].iri, pair[1].iri))
    made.word(0, "mf")
    made.marks[0] = replace(made.marks[0], tempo=Fraction(80))
    return made


def _natural(height: int) -> int:
    """The pitch, or the natural note above it: no pedal has to move."""
    return height + Pitch.from_midi(height).spelling[1] ** 2


def _event(made: Passage, measure: int, beat: Fraction, length: Fraction, height: int) -> Event:
    iri = f"{made.iri}.e{len(made.events)}"
    return Event(
        iri=iri,
        measure_index=measure,
        measure_number=str(measure + 1),
        offset=beat,
        onset=4 * measure + beat,
        duration=length,
        notes=(Note(f"{iri}.n1", Pitch.from_midi(height)),),
    )


def score_of(passages: list[Passage]) -> Score:
    """A score whose parts are passages."""
    return Score(
        iri="tag:example.org,2026:planted",
        title="planted",
        parts=tuple(made.part() for made in passages),
    )
