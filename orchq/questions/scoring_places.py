"""Where a line lies on an instrument, and in which registers."""

from collections.abc import Callable, Container, Mapping

from msgspec import Struct

from orchq.knowledge import Instrument, Technique
from orchq.notation import Pitch
from orchq.questions.asked_line import PlacedNote
from orchq.questions.places import FIRST_THAT_LIES_HIGH
from orchq.questions.scoring_facts import ScoringFacts, Thing


class LineOnStrings(Struct, frozen=True):
    """Where a line lies on an instrument: its notes with their strings.

    ``called`` is the number of the string that the part calls for, if it does.
    """

    instrument: Instrument
    notes: tuple[PlacedNote, ...]
    called: int | None = None

    def __hash__(self) -> int:
        return hash((self.instrument.iri, len(self.notes), self.called))

    def share(self, lies: Callable[[PlacedNote], bool]) -> float:
        """How much of the line, by the length of its notes, fulfils a condition; from 0 to 1."""
        whole = sum(note.length for note in self.notes)
        if not whole:
            return sum(map(lies, self.notes)) / len(self.notes)
        return sum(note.length for note in self.notes if lies(note)) / whole

    def on(self, strings: Container[str], note: PlacedNote, *, surely: bool = False) -> bool:
        """Whether a note is played on one of some strings (IRIs), unasked or as it is called for.

        It is so ``surely`` where the plainest string for it is one of them too, or one is called
        for.
        """
        if self.called is not None:
            own = self.instrument.standard.strings
            return any(each.number == self.called and each.iri in strings for each in own)
        taken = (note.string, note.plain) if surely else (note.string,)
        return all(each is not None and each.iri in strings for each in taken)

    def above_first_position(self, pitch: Pitch) -> bool:
        """Whether a pitch is more than a fifth above the highest open string."""
        highest = max(each.pitch.midi for each in self.instrument.standard.strings)
        return pitch.midi >= highest + FIRST_THAT_LIES_HIGH

    @property
    def lies_high(self) -> bool:
        """Whether all of it lies more than a fifth above the highest open string."""
        return all(self.above_first_position(note.pitch) for note in self.notes)


def registers_at(
    facts: ScoringFacts,
    place: LineOnStrings,
    manner: tuple[Technique, ...],
    rank: int | None,
    ranks: Mapping[str, int],
    *,
    section: bool,
) -> list[tuple[Thing, bool]]:
    """The registers of an instrument in which a line lies, under their conditions.

    Each with whether all of the line surely lies in it. ``rank`` is the degree of loudness,
    ``ranks`` are those of all dynamics by IRI; ``section`` is whether more than one player has the
    line.
    """
    own = {register.iri for register in place.instrument.registers}
    every = {each.iri for each in manner} | {iri for each in manner for iri in each.implies}
    return [
        (register, share_in(register, place, surely=True) == 1)
        for register in facts.registers
        if register.iri in own
        and share_in(register, place) >= facts.rules["mostly"].weight
        and set(register.all("heardWith")) <= every
        and (section or register.one("heardFromSection") != "true")
        and (register.one("liesHigh") != "true" or place.lies_high)
        and _loud_as(register, rank, ranks)
    ]


def share_in(register: Thing, place: LineOnStrings, *, surely: bool = False) -> float:
    """How much of a line lies within the pitches of a register and on its strings."""
    low, high = register.one("lowestPitch"), register.one("highestPitch")
    lowest = None if low is None else Pitch.parse(low).midi
    highest = None if high is None else Pitch.parse(high).midi
    strings = set(register.all("coversString"))

    def within(note: PlacedNote) -> bool:
        return (
            (lowest is None or note.pitch.midi >= lowest)
            and (highest is None or note.pitch.midi <= highest)
            and (not strings or place.on(strings, note, surely=surely))
        )

    return place.share(within)


def _loud_as(register: Thing, rank: int | None, ranks: Mapping[str, int]) -> bool:
    softest, loudest = register.one("heardFrom"), register.one("heardUpTo")
    if rank is None:
        return softest is None and loudest is None
    return (softest is None or rank >= ranks[softest]) and (
        loudest is None or rank <= ranks[loudest]
    )
