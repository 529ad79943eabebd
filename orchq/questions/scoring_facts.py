"""Groupings, manners, registers and scoring rules as the graph describes them."""

from collections import defaultdict
from collections.abc import Callable, Container, Mapping
from dataclasses import dataclass
from functools import lru_cache
from typing import Literal

from orchq.knowledge import Instrument, Technique
from orchq.notation import Pitch
from orchq.questions.asked_line import PlacedNote
from orchq.questions.asking import Asking
from orchq.terms import OQ

Values = Mapping[str, tuple[str, ...]]
"""Values by the local name of their property."""


@dataclass(frozen=True, slots=True)
class Thing:
    """A grouping, manner or register with its values; instruments and techniques are IRIs."""

    iri: str
    label: str
    values: Values

    def all(self, name: str) -> tuple[str, ...]:
        """The values of a property."""
        return self.values.get(name, ())

    def one(self, name: str) -> str | None:
        """The value of a property that has one at most."""
        return next(iter(self.all(name)), None)

    def number(self, name: str) -> int:
        """A whole number, 0 where none is stated."""
        return int(self.one(name) or 0)

    @property
    def words(self) -> tuple[str, ...]:
        """The words for its sound."""
        return (*self.all("soundsLike"), *self.all("hasCharacter"))

    @property
    def roles(self) -> frozenset[str]:
        """The roles that it suits, as IRIs."""
        return frozenset(self.all("suitsRole"))


@dataclass(frozen=True, slots=True)
class Rule:
    """A scoring rule: its label and its weight."""

    iri: str
    label: str
    weight: float


@dataclass(frozen=True, slots=True)
class Suggestion:
    """A word for sound that a way of playing can bring out."""

    iri: str
    word: str


Kind = Literal["Grouping", "Manner", "Register"]


@dataclass(frozen=True, slots=True)
class ScoringFacts:
    """All that scoring rests on; ``rules`` by the last part of their names.

    ``suggestions`` are by the IRI of what they suggest.
    """

    groupings: tuple[Thing, ...]
    manners: tuple[Thing, ...]
    registers: tuple[Thing, ...]
    rules: Mapping[str, Rule]
    suggestions: Mapping[str, tuple[Suggestion, ...]]

    @property
    def roles(self) -> frozenset[str]:
        """The roles that something suits, as IRIs."""
        every = (*self.groupings, *self.manners, *self.registers)
        return frozenset(role for each in every for role in each.roles)


@lru_cache(1)
def scoring_facts(asking: Asking) -> ScoringFacts:
    """Read what the graph says about scoring."""
    found: dict[tuple[str, str, str], dict[str, list[str]]] = {}
    for row in asking.facts("scoring"):
        key = row["kind"].removeprefix(OQ), row["thing"], row["label"]
        values = found.setdefault(key, {})
        values.setdefault(row["property"].removeprefix(OQ), []).append(row["value"])

    def things(kind: Kind) -> tuple[Thing, ...]:
        return tuple(
            Thing(iri, label, {name: tuple(each) for name, each in values.items()})
            for (of, iri, label), values in found.items()
            if of == kind
        )

    rules = {
        iri.removeprefix(f"{OQ}scoring-"): Rule(iri, label, float(values["judgedAs"][0]))
        for (of, iri, label), values in found.items()
        if of == "ScoringRule"
    }
    suggestions: dict[str, list[Suggestion]] = defaultdict(list)
    for row in asking.facts("colours"):
        if "suggestion" in row:
            word = asking.knowledge.label(row["concept"])
            suggestions[row["what"]].append(Suggestion(row["suggestion"], word))
    return ScoringFacts(
        things("Grouping"),
        things("Manner"),
        things("Register"),
        rules,
        {iri: tuple(each) for iri, each in suggestions.items()},
    )


@dataclass(frozen=True)
class LineOnStrings:
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

        It is so ``surely`` where no string is as plain, or one is called for.
        """
        if self.called is not None:
            own = self.instrument.standard.strings
            return any(each.number == self.called and each.iri in strings for each in own)
        on = note.string is not None and note.string.iri in strings
        return on and (note.plainly or not surely)

    def above_first_position(self, pitch: Pitch) -> bool:
        """Whether a pitch is more than a fifth above the highest open string."""
        return pitch.midi > max(each.pitch.midi for each in self.instrument.standard.strings) + 7

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
        (register, _share(register, place, surely=True) == 1)
        for register in facts.registers
        if register.iri in own
        and _share(register, place) >= facts.rules["mostly"].weight
        and set(register.all("heardWith")) <= every
        and (section or register.one("heardFromSection") != "true")
        and (register.one("liesHigh") != "true" or place.lies_high)
        and _loud_as(register, rank, ranks)
    ]


def _share(register: Thing, place: LineOnStrings, *, surely: bool = False) -> float:
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
