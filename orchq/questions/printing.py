"""The question how something is printed, with examples in MEI."""

from collections.abc import Iterable, Mapping, Sequence
from html import escape

from msgspec import Struct

from orchq.evidence import Evidence
from orchq.knowledge import Directive
from orchq.questions.answers import Answers
from orchq.questions.asking import Asking, Row
from orchq.questions.naming import LANGUAGES
from orchq.questions.playing import excluded
from orchq.questions.words import ITALIAN, TermAnswer, encoding, endings, terms
from orchq.terms import OQ

_PLAIN = OQ + "example-words-over-passage"
_MOST_FORMS, _MOST_SHORT, _MOST_ENDS = 3, 2, 3
"""Words of one language that an answer shows; the question terms has them all."""

Worded = Mapping[str, TermAnswer]
"""The words for one thing by the name of their language."""


class PrintedExample(Struct, frozen=True):
    """An example: its title, how many staves it has, and its measures in MEI."""

    title: str
    staves: int
    measures: str

    def __str__(self) -> str:
        return self.title


class NotationAnswer(Struct, frozen=True):
    """How one thing, or several at once, are printed."""

    technique: str
    italian: tuple[str, ...]
    french: tuple[str, ...]
    german: tuple[str, ...]
    english: tuple[str, ...]
    sign: tuple[str, ...]
    placed: tuple[str, ...]
    ends: tuple[str, ...]
    shown: tuple[str, ...]
    wrong: tuple[str, ...]
    examples: tuple[PrintedExample, ...]
    evidence: tuple[Evidence, ...]


def notation(self: Asking, *, technique: str) -> Answers[NotationAnswer]:
    """Return how a technique, or several at once, are printed so that players read them at sight.

    ``technique`` may be anything that print asks for; several are divided by commas. Raises
    ``OrchqError`` for an unknown name.

    >>> import orchq
    >>> [answer] = orchq.load().ask.notation(technique="snap pizzicato")
    >>> answer.placed, answer.sign[0]
    (('above each note',), 'MEI snap')
    """
    things = self.names.directives(technique)
    parameters = {"technique": ", ".join(each.label for each in things)}
    clash = _clash(self, things)
    if clash:
        return self.answer("notation", parameters, [], [f"{clash}."])
    answer = _printed(self, things)
    if not answer.evidence:
        silent = f"The graph does not say how {parameters['technique']} is printed."
        return self.answer("notation", parameters, [], [silent])
    words_alone = () if answer.placed or answer.wrong else ("The graph has the words alone.",)
    return self.answer("notation", parameters, [answer], words_alone)


def _clash(self: Asking, things: Sequence[Directive]) -> str:
    """Why no player can do all of it at once; empty where all goes together."""
    techniques = [each for thing in things if (each := self.knowledge.techniques.get(thing.iri))]
    for place, one in enumerate(techniques):
        for other in techniques[place + 1 :]:
            judged = excluded(self, one, other)
            if judged.because:
                return judged.because
    return ""


def _printed(self: Asking, things: Sequence[Directive]) -> NotationAnswer:
    facts = [self.facts("notation", technique=each.iri) for each in things]
    whole = _combination(self, facts) if len(things) > 1 else facts[0]
    every = [row for rows in facts for row in rows]
    described = whole or every
    said = [{each.language: each for each in terms(self, for_=thing.iri)} for thing in things]
    signs = [each for thing in things for each in encoding(self, technique=thing.iri)]
    ended = [
        {each.language: each for each in terms(self, for_=end.iri)}
        for thing in things
        for end in endings(self, thing)[:_MOST_ENDS]
    ]
    begin, end = _in_print(said), _in_print(ended[:1] if len(things) == 1 else ended)
    sign = max((each.name for each in signs if each.standard == "MEI"), default="")
    shown = [row for row in described if row["kind"] == "shown"]
    if not whole and len(shown) > 1:
        shown = [row for row in shown if row["thing"] != _PLAIN][-1:] or shown[:1]
    examples = tuple(_example(row, begin, end, sign) for row in _once(shown))
    faults = _once(row for row in every if row["kind"] == "wrong")
    evidence = [
        *(item for words in said for each in words.values() for item in each.evidence),
        *(item for row in faults for item in self.evidence_for(row["thing"])),
        *(item for each in signs for item in each.evidence),
    ]
    italian, french, german, english = (
        _in_language(said, language) for language in LANGUAGES.values()
    )
    return NotationAnswer(
        " + ".join(thing.label for thing in things),
        italian,
        french,
        german,
        english,
        tuple(f"{each.standard.split()[0]} {each.name}" for each in signs),
        _labels(described, "placed"),
        _endings(described, ended),
        tuple(example.title for example in examples),
        tuple(f"{row['label']}: {_within(row['detail'])}" for row in faults),
        examples,
        tuple(dict.fromkeys(evidence)),
    )


def _combination(self: Asking, facts: Sequence[Sequence[Row]]) -> list[Row]:
    """What is stated of all of these at once; nothing where they are printed side by side."""
    common = set.intersection(
        *({row["thing"] for row in rows if row["kind"] == "combined"} for rows in facts)
    )
    return [row for iri in sorted(common) for row in self.facts("notation", technique=iri)]


def _once(rows: Iterable[Row]) -> list[Row]:
    return list({row["thing"]: row for row in rows}.values())


def _labels(rows: Iterable[Row], kind: str) -> tuple[str, ...]:
    return tuple(dict.fromkeys(row["label"] for row in rows if row["kind"] == kind))


def _endings(rows: Iterable[Row], ended: Sequence[Worded]) -> tuple[str, ...]:
    """What ends it, and the words for that in each language where there are any."""
    words = []
    for language in LANGUAGES.values():
        found = [each[language].forms[0] for each in ended if language in each]
        if found:
            words.append(f"{language}: {' or '.join(dict.fromkeys(found))}")
    return (*_labels(rows, "ends"), *words)


def _in_language(said: Sequence[Worded], language: str) -> tuple[str, ...]:
    if len(said) > 1:
        joined = [words[language].forms[0] for words in said if language in words]
        return (", ".join(joined),) if joined else ()
    answer = said[0].get(language)
    if answer is None:
        return ()
    return (*answer.forms[:_MOST_FORMS], *answer.abbreviations[:_MOST_SHORT])


def _in_print(said: Sequence[Worded]) -> str:
    """The words in Italian, or else in the first language that has them."""
    italian = LANGUAGES[ITALIAN]
    found = []
    for words in said:
        order = sorted(words, key=lambda language: language != italian)
        found += [words[language].forms[0] for language in order if words[language].forms][:1]
    return ", ".join(dict.fromkeys(found))


def _example(row: Row, begin: str, end: str, sign: str) -> PrintedExample:
    """An example with the words and the sign put in their places."""
    placed = f'<artic artic="{escape(sign)}"/>' if sign else ""
    filled = row["detail"].replace("{begin}", escape(begin)).replace("{end}", escape(end))
    return PrintedExample(
        row["label"], int(row.get("staves", "1")), filled.replace("{sign}", placed)
    )


def _within(sentence: str) -> str:
    """A sentence as part of another."""
    return sentence[:1].lower() + sentence[1:].removesuffix(".")
