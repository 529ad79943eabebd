"""Groupings, manners, registers and scoring rules as the graph describes them."""

from collections import defaultdict
from collections.abc import Mapping
from functools import lru_cache
from typing import Literal

from msgspec import Struct

from orchq.questions.asking import Asking
from orchq.terms import OQ

Values = Mapping[str, tuple[str, ...]]
"""Values by the local name of their property."""


class Thing(Struct, frozen=True):
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


class Rule(Struct, frozen=True):
    """A scoring rule: its label and its weight."""

    iri: str
    label: str
    weight: float


class Suggestion(Struct, frozen=True):
    """A word for sound that a way of playing can bring out."""

    iri: str
    word: str


Kind = Literal["Grouping", "Manner", "Register"]


class ScoringFacts(Struct, frozen=True):
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
