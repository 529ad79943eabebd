"""Questions for pupils from the graph's facts, with one right answer each and who says so."""

from collections.abc import Iterable, Iterator
from random import Random

from msgspec import Struct

from orchq.evidence import Evidence
from orchq.knowledge import Instrument, Technique
from orchq.questions import Graph
from orchq.questions.naming import LANGUAGES

_CHOICES = 4
_ALIKE = 5
"""Letters of a technique's name by which a word gives it away."""


class QuizItem(Struct, frozen=True):
    """A question with its choices; ``right`` is the place of the right one, from 0."""

    question: str
    choices: tuple[str, ...]
    right: int
    evidence: tuple[Evidence, ...]

    @property
    def letter(self) -> str:
        """The letter of the right choice."""
        return chr(ord("a") + self.right)


class _Fact(Struct, frozen=True):
    """A question, what answers it rightly, and what answers others of its kind and not it."""

    question: str
    answer: str
    wrong: tuple[str, ...]
    evidence: tuple[Evidence, ...]


def quiz(
    graph: Graph, instrument: Instrument, technique: Technique | None, *, seed: int, most: int
) -> tuple[QuizItem, ...]:
    """Return questions about a technique, and about the instrument that it is played on.

    The same seed gives the same questions from the same graph. A wrong choice is what is true of
    another technique, register or instrument and not of this one.
    """
    random = Random(seed)  # noqa: S311 - a quiz is no secret
    facts: list[_Fact] = []
    if technique is not None:
        for of_technique in (_words, _meanings, _endings, _places, _faults, _loudness):
            facts += of_technique(graph, instrument, technique)
    own = len(facts)
    for of_instrument in (_characters, _strings, _tunings):
        facts += of_instrument(graph, instrument)
    first, rest = facts[:own], facts[own:]
    random.shuffle(first)
    random.shuffle(rest)
    items = (_item(fact, random) for fact in (*first, *rest) if _usable(fact))
    return tuple(item for item, _ in zip(items, range(most), strict=False))


def _usable(fact: _Fact) -> bool:
    return bool(fact.evidence) and len(set(fact.wrong) - {fact.answer}) >= _CHOICES - 1


def _item(fact: _Fact, random: Random) -> QuizItem:
    wrong = random.sample(sorted(set(fact.wrong) - {fact.answer}), _CHOICES - 1)
    choices = [fact.answer, *wrong]
    random.shuffle(choices)
    return QuizItem(fact.question, tuple(choices), choices.index(fact.answer), fact.evidence)


def _others(graph: Graph, instrument: Instrument, technique: Technique) -> list[Technique]:
    able = (each for each in graph.techniques.values() if each.is_on(instrument))
    return sorted((each for each in able if each.iri != technique.iri), key=lambda each: each.label)


# ------------------------------------------------------------------- of a technique


def _forms(graph: Graph, technique: Technique) -> dict[str, tuple[str, ...]]:
    return {each.language: each.forms for each in graph.ask.terms(for_=technique.iri)}


def _telling(forms: Iterable[str], technique: Technique) -> list[str]:
    """Words that do not give the technique away by its own name."""
    own = technique.label.casefold()[:_ALIKE]
    return [form for form in forms if own not in form.casefold()]


def _words(graph: Graph, instrument: Instrument, technique: Technique) -> Iterator[_Fact]:
    """How it is printed in each language."""
    elsewhere = [_forms(graph, each) for each in _others(graph, instrument, technique)]
    for answer in graph.ask.terms(for_=technique.iri):
        for form in _telling(answer.forms, technique)[:1]:
            wrong = (forms.get(answer.language, ())[:1] for forms in elsewhere)
            yield _Fact(
                f"Which {answer.language} words ask for {technique.label}?",
                form,
                tuple(each for forms in wrong for each in forms if each not in answer.forms),
                answer.evidence,
            )


def _meanings(graph: Graph, instrument: Instrument, technique: Technique) -> Iterator[_Fact]:
    """What a printed word asks for."""
    labels = tuple(each.label for each in _others(graph, instrument, technique))
    for answer in graph.ask.terms(for_=technique.iri):
        for form in _telling(answer.forms, technique)[1:2]:
            yield _Fact(
                f"What does “{form}” ask for ({answer.language})?",
                technique.label,
                labels,
                answer.evidence,
            )


def _endings(graph: Graph, instrument: Instrument, technique: Technique) -> Iterator[_Fact]:
    """What ends it in print."""
    others = [
        each
        for each in _others(graph, instrument, technique)
        if technique.iri not in graph.directives[each.iri].cancels
    ]
    for answer in graph.ask.terms(for_=technique.iri):
        if answer.cancelled_by and answer.language in LANGUAGES.values():
            wrong = (_forms(graph, each).get(answer.language, ())[:1] for each in others)
            yield _Fact(
                f"Which {answer.language} word ends {technique.label}?",
                answer.cancelled_by[0],
                tuple(each for forms in wrong for each in forms if each not in answer.cancelled_by),
                answer.evidence,
            )


def _places(graph: Graph, instrument: Instrument, technique: Technique) -> Iterator[_Fact]:
    """Which part of instrument or bow it is about."""
    every = graph.ask.parts(on=instrument.iri)
    wrong = tuple(each.part for each in every if technique.label not in each.techniques)
    for answer in every:
        if technique.label in answer.techniques:
            yield _Fact(
                f"Which part is touched, struck or approached for {technique.label}?",
                answer.part,
                wrong,
                answer.evidence,
            )


def _faults(graph: Graph, instrument: Instrument, technique: Technique) -> Iterator[_Fact]:
    """How players read a wrong way to print it."""
    own = _read_wrongly(graph, technique)
    others = (_read_wrongly(graph, each) for each in _others(graph, instrument, technique))
    wrong = tuple(says for read in others for says in read.values() if says not in own.values())
    for label, says in own.items():
        evidence = [
            each for each in graph.ask.notation(technique=technique.iri)[0].evidence
            if each.statement == says
        ]  # fmt: skip
        yield _Fact(f"In print: {label}. What comes of it?", says, wrong, tuple(evidence))


def _read_wrongly(graph: Graph, technique: Technique) -> dict[str, str]:
    rows = graph.ask.facts("notation", technique=technique.iri)
    return {row["label"]: row["detail"] for row in rows if row["kind"] == "wrong"}


def _loudness(graph: Graph, instrument: Instrument, technique: Technique) -> Iterator[_Fact]:
    """How softly and how loudly, by one opinion; opinions of others are no wrong answers."""
    answers = graph.ask.dynamics(on=instrument.iri, technique=technique.iri)
    said = {(each.softest, each.loudest) for each in answers}
    marks = [each.label for each in graph.dynamics.values()]
    ranges = [(low, high) for i, low in enumerate(marks) for high in marks[i + 2 :]]
    for answer in answers:
        if answer.softest and answer.loudest and answer.basis != "attested":
            who = answer.evidence[0].source or answer.basis
            yield _Fact(
                f"From which dynamic to which is {technique.label} played on the "
                f"{instrument.label}, according to {who}?",
                f"{answer.softest} to {answer.loudest}",
                tuple(f"{low} to {high}" for low, high in ranges if (low, high) not in said),
                answer.evidence,
            )


# ------------------------------------------------------------------ of an instrument


def _characters(graph: Graph, instrument: Instrument) -> Iterator[_Fact]:
    """How its registers sound."""
    registers = [each for each in graph.ask.registers(on=instrument.iri) if each.character]
    near = graph.thesaurus.nearness
    for register in registers:
        wrong = (
            ", ".join(other.character)
            for other in registers
            if not any(near(a, b) for a in register.character for b in other.character)
        )
        yield _Fact(
            f"Which words describe this register: {register.register}?",
            ", ".join(register.character),
            tuple(wrong),
            register.evidence,
        )


def _strings(graph: Graph, instrument: Instrument) -> Iterator[_Fact]:
    """Which string is which."""
    [standard, *_] = graph.ask.stringing(on=instrument.iri)
    for number, pitch in enumerate(standard.strings, start=1):
        yield _Fact(
            f"How is string {number} of the {instrument.label} tuned, the highest being 1?",
            pitch,
            standard.strings,
            standard.evidence,
        )


def _tunings(graph: Graph, instrument: Instrument) -> Iterator[_Fact]:
    """How it is tuned, among the others."""
    [standard, *_] = graph.ask.stringing(on=instrument.iri)
    own = _upwards(instrument)
    wrong = tuple(map(_upwards, graph.instruments.values()))
    yield _Fact(
        f"How are the strings of the {instrument.label} tuned, from the lowest?",
        own,
        tuple(each for each in wrong if each != own),
        standard.evidence,
    )


def _upwards(instrument: Instrument) -> str:
    strings = sorted(instrument.standard.strings, key=lambda each: -each.number)
    return " ".join(each.pitch.name for each in strings)
