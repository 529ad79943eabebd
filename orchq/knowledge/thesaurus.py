"""The words for sound and how near one is to another."""

from collections.abc import Iterable, Mapping
from functools import cached_property
from typing import Literal

from msgspec import Struct

from orchq.knowledge.facts import Facts
from orchq.terms import SKOS

Nearness = Literal["same", "narrower", "broader", "related", "opposite"]


class SoundWord(Struct, frozen=True):
    """A concept for a sound; relations hold IRIs of others.

    ``synonyms`` are words for it beside its label. ``broader`` is closed upwards; ``related`` and
    ``opposites`` go both ways and are those that the graph states.
    """

    iri: str
    label: str
    definition: str
    synonyms: tuple[str, ...]
    broader: frozenset[str]
    related: frozenset[str]
    opposites: frozenset[str]


class Thesaurus:
    """The words for sound of a graph, found by label or synonym whatever their case.

    A word that the graph has no concept for is near to itself alone.
    """

    def __init__(self, words: Iterable[SoundWord]) -> None:
        self.words: Mapping[str, SoundWord] = {word.iri: word for word in words}

    @cached_property
    def _by_name(self) -> Mapping[str, SoundWord]:
        found = {name.casefold(): word for word in self.words.values() for name in word.synonyms}
        return found | {word.label.casefold(): word for word in self.words.values()}

    def named(self, text: str) -> SoundWord | None:
        """Return the word with this label or synonym, or ``None``."""
        return self._by_name.get(text.strip().casefold())

    def names(self) -> frozenset[str]:
        """All labels and synonyms."""
        return frozenset(
            name for word in self.words.values() for name in (word.label, *word.synonyms)
        )

    def nearness(self, asked: str, found: str) -> Nearness | None:
        """Return what a word that describes a sound is to one that is asked for.

        ``narrower`` is a word below the one asked for, so that it answers as well.

        >>> from orchq.knowledge import load
        >>> thesaurus = load().thesaurus
        >>> [thesaurus.nearness("bright", word) for word in ("clear", "radiant", "grave", "sad")]
        ['same', 'narrower', 'opposite', None]
        """
        if asked.casefold() == found.casefold():
            return "same"
        one, other = self.named(asked), self.named(found)
        if one is None or other is None:
            return None
        if one == other:
            return "same"
        if one.iri in other.broader:
            return "narrower"
        if self._opposed(one, other):
            return "opposite"
        if other.iri in one.broader:
            return "broader"
        return "related" if other.iri in one.related else None

    def _opposed(self, one: SoundWord, other: SoundWord) -> bool:
        above = {other.iri, *other.broader}
        return any(
            not above.isdisjoint(self.words[iri].opposites)
            for iri in (one.iri, *one.broader)
            if iri in self.words
        )


def load_thesaurus(facts: Facts) -> Thesaurus:
    """Read the words for sound; a relation stated at either end goes both ways."""
    members = facts.members("SoundWord")
    above = {iri: facts.nodes(iri, SKOS + "broader") for iri in members}
    related = _both_ways({iri: facts.nodes(iri, SKOS + "related") for iri in members})
    opposites = _both_ways({iri: facts.objects(iri, "isOppositeOf") for iri in members})
    return Thesaurus(
        SoundWord(
            iri,
            facts.label(iri),
            facts.text(iri, SKOS + "definition"),
            tuple(facts.nodes(iri, SKOS + "altLabel")),
            _closed(above, iri),
            frozenset(related[iri]),
            frozenset(opposites[iri]),
        )
        for iri in members
    )


def _both_ways(links: Mapping[str, Iterable[str]]) -> Mapping[str, set[str]]:
    found = {iri: set(others) for iri, others in links.items()}
    for iri, others in links.items():
        for other in others:
            found.setdefault(other, set()).add(iri)
    return found


def _closed(above: Mapping[str, Iterable[str]], iri: str) -> frozenset[str]:
    found: set[str] = set()
    waiting = list(above[iri])
    while waiting:
        if (each := waiting.pop()) not in found and each != iri:
            found.add(each)
            waiting.extend(above.get(each, ()))
    return frozenset(found)
