"""Groupings, manners, registers and scoring rules as the graph describes them."""

from collections import defaultdict
from collections.abc import Mapping
from dataclasses import dataclass
from functools import cached_property, lru_cache
from typing import Literal

from orchq.knowledge import Instrument, Technique
from orchq.notation import Pitch
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
    """Where a line lies on an instrument: its lowest and highest pitch, and the strings it takes.

    ``called`` is the number of the string that the part calls for, if it does.
    """

    instrument: Instrument
    low: Pitch
    high: Pitch
    called: int | None = None

    def __hash__(self) -> int:
        return hash((self.instrument.iri, self.low, self.high, self.called))

    @cached_property
    def strings(self) -> frozenset[str]:
        """The strings (IRIs) that a line takes in the lowest position, or the one called for."""
        strings = self.instrument.standard.strings
        if self.called is not None:
            return frozenset(each.iri for each in strings if each.number == self.called)
        taken = set()
        for pitch in (self.low, self.high):
            below = [each for each in strings if each.pitch.midi <= pitch.midi]
            if below:
                taken.add(max(below, key=lambda each: each.pitch.midi).iri)
        return frozenset(taken)

    @property
    def lies_high(self) -> bool:
        """Whether all of it lies more than a fifth above the highest open string."""
        top = max(each.pitch.midi for each in self.instrument.standard.strings)
        return self.low.midi > top + 7


def registers_at(
    facts: ScoringFacts,
    place: LineOnStrings,
    manner: tuple[Technique, ...],
    rank: int | None,
    ranks: Mapping[str, int],
    *,
    section: bool,
) -> list[Thing]:
    """The registers of an instrument in which a line lies, under their conditions.

    ``rank`` is the degree of loudness, ``ranks`` are those of all dynamics by IRI; ``section`` is
    whether more than one player has the line.
    """
    own = {register.iri for register in place.instrument.registers}
    every = {each.iri for each in manner} | {iri for each in manner for iri in each.implies}
    return [
        register
        for register in facts.registers
        if register.iri in own
        and _spans(register, place)
        and set(register.all("heardWith")) <= every
        and (section or register.one("heardFromSection") != "true")
        and (register.one("liesHigh") != "true" or place.lies_high)
        and _loud_as(register, rank, ranks)
    ]


def _spans(register: Thing, place: LineOnStrings) -> bool:
    low, high = register.one("lowestPitch"), register.one("highestPitch")
    strings = set(register.all("coversString"))
    if low is not None and place.low.midi < Pitch.parse(low).midi:
        return False
    if high is not None and place.high.midi > Pitch.parse(high).midi:
        return False
    return not strings or (bool(place.strings) and place.strings <= strings)


def _loud_as(register: Thing, rank: int | None, ranks: Mapping[str, int]) -> bool:
    softest, loudest = register.one("heardFrom"), register.one("heardUpTo")
    if rank is None:
        return softest is None and loudest is None
    return (softest is None or rank >= ranks[softest]) and (
        loudest is None or rank <= ranks[loudest]
    )
