"""What sounds how: techniques and registers by the words for their sound."""

from collections.abc import Iterable
from dataclasses import dataclass

from orchq.evidence import Evidence
from orchq.knowledge.thesaurus import Nearness
from orchq.questions.answers import Answers
from orchq.questions.asking import Asking

_FITS: tuple[Nearness, ...] = ("same", "narrower", "broader", "related")
"""Fits from the best; an opposite is none."""


@dataclass(frozen=True, slots=True)
class ColourAnswer:
    """A technique or register that sounds as asked; ``on`` is empty where all have it.

    ``fit`` is how its words answer the one asked for: ``same``, ``narrower`` (a kind of it),
    ``broader`` or ``related`` (near it).
    """

    what: str
    kind: str
    fit: str
    on: tuple[str, ...]
    colours: tuple[str, ...]
    evidence: tuple[Evidence, ...]


def colours(self: Asking, *, like: str, on: str | None = None) -> Answers[ColourAnswer]:
    """Return what sounds like a word: techniques and registers, the best fits first.

    What is only near the word is left out where another of its words is the opposite. Raises
    ``OrchqError`` for a word or a name that is not known.

    >>> import orchq
    >>> found = orchq.load().ask.colours(like="glassy")
    >>> [answer.what for answer in found if answer.fit == "same"]
    ['artificial harmonic', 'harmonics', 'natural harmonic', 'sul ponticello']
    """
    instrument = None if on is None else self.names.instrument(on)
    described: dict[str, list[str]] = {}
    for row in self.facts("colours"):
        described.setdefault(row["what"], []).append(row["word"])
    wanted = self.names.one_of("colour", like, colour_words(self))
    answers = []
    for iri, words in described.items():
        fit = _fit(self, wanted, words)
        if fit is None:
            continue
        technique = self.knowledge.techniques.get(iri)
        holders = [
            each
            for each in self.instruments_on(None)
            if (technique and technique.is_on(each))
            or any(register.iri == iri for register in each.registers)
        ]
        if instrument is None or instrument in holders:
            everyone = len(holders) == len(self.knowledge.instruments)
            answers.append(
                ColourAnswer(
                    self.knowledge.label(iri),
                    "technique" if technique else "register",
                    fit,
                    () if everyone else tuple(each.label for each in holders),
                    tuple(words),
                    self.evidence_for(iri),
                )
            )
    answers.sort(key=lambda each: (_FITS.index(each.fit), each.kind == "register", each.what))
    word = self.knowledge.thesaurus.named(wanted)
    parameters = {"like": word.label if word else wanted, "on": instrument and instrument.label}
    where = f" on the {instrument.label}" if instrument else ""
    remarks = [] if answers else [f"The graph has nothing that sounds {wanted}{where}."]
    if word and word.opposites:
        others = sorted(self.knowledge.label(iri) for iri in word.opposites)
        remarks.append(f"The opposite of {word.label}: {', '.join(others)}.")
    return self.answer("colours", parameters, answers, remarks)


def _fit(self: Asking, wanted: str, words: Iterable[str]) -> Nearness | None:
    """The best fit among some words; none where one is only near and another the opposite."""
    found = {self.knowledge.thesaurus.nearness(wanted, word) for word in words}
    best = next((fit for fit in _FITS if fit in found), None)
    return None if best not in ("same", "narrower") and "opposite" in found else best


def colour_words(self: Asking) -> tuple[str, ...]:
    """All words for sounds: those of the thesaurus, and those that only a description uses."""
    used = {row["word"] for row in self.facts("colours")}
    return tuple(sorted(used | self.knowledge.thesaurus.names()))
