"""What sounds how: techniques and registers by the words for their sound."""

from collections import defaultdict
from collections.abc import Iterable, Mapping, Sequence
from functools import lru_cache

from msgspec import Struct

from orchq.errors import OrchqError, hint, nearest
from orchq.evidence import Evidence
from orchq.knowledge import Instrument, SoundWord
from orchq.knowledge.lexicon import words_of
from orchq.questions.answers import Answers
from orchq.questions.asking import Asking
from orchq.questions.scoring_facts import scoring_facts

_SUGGESTED = "suggested"
_NEAR = 4
_STEM = 4
_ENDING = 3
"""How many words are offered, and how much of a word is compared: all but an ending."""

_SURELY_MEANT, _PERHAPS_MEANT = 0.8, 0.6
"""How alike in letters a word is that is meant, and one that is only shown where there is none."""

_TEXTS = """
SELECT $thing ?text WHERE {
    { $thing skos:definition ?text }
    UNION
    { ?suggestion oq:bringsOut $thing ; oq:statement ?text }
}"""

_KINDS = ("technique", "manner", "grouping", "register")
_UNHELD: tuple[str, Sequence[Instrument]] = "register", ()
"""A register that belongs to a family, and to no instrument alone."""

_FITS = ("same", "narrower", _SUGGESTED, "broader", "related")
"""Fits from the best; an opposite is none."""


class ColourAnswer(Struct, frozen=True):
    """What sounds as asked; ``kind`` is technique, manner, grouping or register.

    ``on`` is empty where all instruments have it. ``fit`` is how its words answer the one asked
    for: ``same``, ``narrower`` (a kind of it), ``suggested`` (it can bring the word out),
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
    described: dict[str, list[str]] = defaultdict(list)
    suggested: dict[str, str] = {}
    wanted = word_for_sound(self, like)
    word = self.knowledge.thesaurus.named(wanted)
    for row in self.facts("colours"):
        own = described[row["what"]]
        if "word" in row:
            own.append(row["word"])
        elif word and row["concept"] == word.iri:
            suggested[row["what"]] = row["suggestion"]
    answers = []
    things = _things(self)
    for iri, words in described.items():
        fit = _fit(self, wanted, words, iri in suggested)
        if fit is None:
            continue
        kind, holders = things.get(iri, _UNHELD)
        if instrument is None or instrument in holders:
            said = (iri, suggested[iri]) if fit == _SUGGESTED else (iri,)
            answers.append(
                ColourAnswer(
                    self.knowledge.label(iri),
                    kind,
                    fit,
                    ()
                    if len(holders) == len(self.knowledge.instruments)
                    else tuple(each.label for each in holders),
                    tuple(words),
                    tuple(each for of in said for each in self.evidence_for(of)),
                )
            )
    answers.sort(key=lambda each: (_FITS.index(each.fit), _KINDS.index(each.kind), each.what))
    parameters = {"like": word.label if word else wanted, "on": instrument and instrument.label}
    where = f" on the {instrument.label}" if instrument else ""
    remarks = [] if answers else [f"The graph has nothing that sounds {wanted}{where}."]
    if word and word.opposites:
        others = sorted(self.knowledge.label(iri) for iri in word.opposites)
        remarks.append(f"The opposite of {word.label}: {', '.join(others)}.")
    return self.answer("colours", parameters, answers, remarks)


@lru_cache(1)
def _things(self: Asking) -> Mapping[str, tuple[str, Sequence[Instrument]]]:
    """What can have a word for its sound: its kind, and the instruments that have it."""
    knowledge, every = self.knowledge, self.instruments_on(None)
    found: dict[str, tuple[str, Sequence[Instrument]]] = {}
    for technique in knowledge.techniques.values():
        found[technique.iri] = "technique", [each for each in every if technique.is_on(each)]
    for each in every:
        for register in each.registers:
            others = found.get(register.iri, _UNHELD)[1]
            found[register.iri] = "register", (*others, each)
    facts = scoring_facts(self)
    for manner in facts.manners:
        asked = [knowledge.techniques[iri] for iri in manner.all("playsWith")]
        able = [each for each in every if all(technique.is_on(each) for technique in asked)]
        found[manner.iri] = "manner", able
    for grouping in facts.groupings:
        playing = {*grouping.all("playsAtPitch"), *grouping.all("playsOctaveBelow")}
        found[grouping.iri] = "grouping", [each for each in every if each.iri in playing]
    return found


def _fit(self: Asking, wanted: str, words: Iterable[str], suggested: bool) -> str | None:
    """The best fit among some words; none where one is only near and another the opposite."""
    found: set[str | None] = {self.knowledge.thesaurus.nearness(wanted, word) for word in words}
    if suggested:
        found.add(_SUGGESTED)
    best = next((fit for fit in _FITS if fit in found), None)
    return None if best not in ("same", "narrower") and "opposite" in found else best


def word_for_sound(self: Asking, text: str) -> str:
    """Return the word for sound of this name, whatever its case.

    Raises ``OrchqError`` for one that is not known, with words that are near in meaning or in
    their letters.
    """
    known = {word.casefold(): word for word in colour_words(self)}
    asked = text.strip().casefold()
    if asked in known:
        return known[asked]
    named = self.knowledge.thesaurus.named
    near = _near_in_meaning(self, asked)
    spelled = nearest(asked, known, alike=_SURELY_MEANT)
    near += [each for each in spelled if not (word := named(each)) or word.label not in near]
    if near:
        raise OrchqError(
            f"no word for sound is called {text!r}; did you mean {' or '.join(near[:_NEAR])}?"
        )
    spelled = nearest(asked, known, alike=_PERHAPS_MEANT)
    looks = f"spelled a little like it: {', '.join(spelled)}" if spelled else hint(text, known)
    raise OrchqError(
        f"no word for sound is called {text!r}, and none is known to be near it in meaning; {looks}"
    )


def _near_in_meaning(self: Asking, asked: str) -> list[str]:
    """Words for sound that a printed word means, then those described with words of its stem."""
    words = self.knowledge.thesaurus.words.values()
    directive = self.knowledge.printed_forms.get(words_of(asked))
    means = (
        [] if directive is None else [row["text"] for row in self.select(_TEXTS, thing=directive)]
    )
    found = [word for word in words if any(_has_stem(text, word.label) for text in means)]
    stem = asked[: max(_STEM, len(asked) - _ENDING)]
    if len(stem) >= _STEM:
        for names in (True, False):
            found += [word for word in words if _tells_of(self, word, stem, names=names)]
    return list(dict.fromkeys(word.label for word in found))


def _tells_of(self: Asking, word: SoundWord, stem: str, *, names: bool) -> bool:
    """Whether the names of a word, or else its definition and reason, have a word of a stem."""
    if names:
        return any(_has_stem(name, stem) for name in (word.label, *word.synonyms))
    return any(_has_stem(row["text"], stem) for row in self.select(_TEXTS, thing=word.iri))


def _has_stem(text: str, stem: str) -> bool:
    return any(word.startswith(stem) for word in words_of(text))


def colour_words(self: Asking) -> tuple[str, ...]:
    """All words for sounds: those of the thesaurus, and those that only a description uses."""
    used = {row["word"] for row in self.facts("colours") if "word" in row}
    return tuple(sorted(used | self.knowledge.thesaurus.names()))
