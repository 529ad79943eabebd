"""Questions about words and signs: how a thing is printed, in which language, how it sounds."""

from collections.abc import Mapping, Sequence

from msgspec import Struct
from msgspec.structs import replace

from orchq.evidence import Evidence
from orchq.knowledge import Directive, Instrument
from orchq.questions.answers import Answers
from orchq.questions.asking import Asking, Row
from orchq.questions.naming import LANGUAGES
from orchq.terms import OQ

ITALIAN = "it"
PUBLISHED = OQ + "published"
_KINDS = {"form": "full form", "plural": "plural", "abbreviation": "abbreviation"}


class TermAnswer(Struct, frozen=True):
    """The words of one language for a thing, and the words that end it."""

    language: str
    forms: tuple[str, ...]
    plurals: tuple[str, ...]
    abbreviations: tuple[str, ...]
    cancelled_by: tuple[str, ...]
    basis: str
    evidence: tuple[Evidence, ...]


class PrintAnswer(Struct, frozen=True):
    """Words that print a thing."""

    text: str
    kind: str
    language: str
    basis: str
    evidence: tuple[Evidence, ...]


class EncodingAnswer(Struct, frozen=True):
    """The name that a standard of music notation has for a thing."""

    standard: str
    name: str
    means: str
    evidence: tuple[Evidence, ...]


def terms(self: Asking, *, for_: str) -> Answers[TermAnswer]:
    """Return how a thing is printed in each language, and which words end it.

    Raises ``OrchqError`` for an unknown name.

    >>> import orchq
    >>> for answer in orchq.load().ask.terms(for_="am Griffbrett"):
    ...     print(answer.language, answer.forms[0], "-", answer.cancelled_by[0])
    Italian sul tasto - naturale
    French sur la touche - naturel
    German Griffbrett - normal
    English at the fingerboard - ordinary
    """
    thing = self.names.printed(for_)
    ends = [] if isinstance(thing, Instrument) else endings(self, thing)
    rows = _by_language(self.facts("terms", **{"for": thing.iri}))
    ending = [_by_language(self.facts("terms", **{"for": end.iri})) for end in ends]
    answers = []
    for tag, language in LANGUAGES.items():
        grounds = _evidence_for(self, rows.get(tag, ()))
        if tag in rows:
            answers.append(
                TermAnswer(
                    language,
                    _forms(rows[tag], "form"),
                    _forms(rows[tag], "plural"),
                    _forms(rows[tag], "abbreviation"),
                    tuple(
                        form
                        for each in ending
                        for kind in ("form", "abbreviation")
                        for form in _forms(each.get(tag, ()), kind)
                    ),
                    ", ".join(dict.fromkeys(evidence.basis for evidence in grounds)),
                    grounds,
                )
            )
    remarks = [f"It is cancelled by: {', '.join(end.label for end in ends)}."] if ends else []
    if not answers:
        remarks = [f"The graph has no words for {thing.label}; it is printed as a sign."]
    return self.answer("terms", {"for_": thing.label}, answers, remarks)


def _evidence_for(self: Asking, rows: Sequence[Row]) -> tuple[Evidence, ...]:
    """The evidence for each term, with the words it has."""
    words: dict[str, list[str]] = {}
    for row in sorted(rows, key=usual):
        words.setdefault(row["term"], []).append(row["form"])
    return tuple(
        replace(evidence, statement=", ".join(dict.fromkeys(forms)))
        for term, forms in words.items()
        for evidence in self.evidence_for(term)
    )


def _by_language(rows: Sequence[Row]) -> Mapping[str, list[Row]]:
    found: dict[str, list[Row]] = {}
    for row in rows:
        found.setdefault(row.get("language", ""), []).append(row)
    return found


def _forms(rows: Sequence[Row], kind: str) -> tuple[str, ...]:
    """The forms of a kind, the usual ones first."""
    chosen = sorted((row for row in rows if row["kind"] == kind), key=usual)
    return tuple(dict.fromkeys(row["form"] for row in chosen))


def usual(row: Row) -> tuple[bool, bool, bool, int, str]:
    """A key for sorting: the form that is the label, whole words, what was read, short forms.

    The row holds ``form``, ``label`` and ``basis``.
    """
    form = row["form"]
    return (
        form.casefold() != row["label"].casefold(),
        form.endswith("."),
        row["basis"] != PUBLISHED,
        len(form),
        form,
    )


def endings(self: Asking, thing: Directive) -> list[Directive]:
    """What ends a directive and asks for no colour of its own: ordinario, arco, senza sordino."""
    every = [each for each in self.knowledge.directives.values() if thing.iri in each.cancels]
    techniques = self.knowledge.techniques
    neutral = [
        each for each in every if each.iri not in techniques or not techniques[each.iri].colours
    ]
    chosen = neutral or every
    return sorted(chosen, key=lambda each: ("Cancellation" not in each.kinds, each.label))


def prints(self: Asking, *, technique: str, language: str) -> Answers[PrintAnswer]:
    """Return what to print for a technique in a language.

    Where the language has no words of its own the Italian ones are returned. Raises ``OrchqError``
    for an unknown name.

    >>> import orchq
    >>> found = orchq.load().ask.prints(technique="sul ponticello", language="German")
    >>> [answer.text for answer in found if answer.kind == "full form"][0]
    'am Steg'
    """
    thing, tag = self.names.printed(technique), self.names.language(language)
    rows = _by_language(self.facts("terms", **{"for": thing.iri}))
    spoken = tag if tag in rows else ITALIAN
    answers = []
    for kind, name in _KINDS.items():
        for row in sorted(rows.get(spoken, ()), key=usual):
            if row["kind"] == kind:
                grounds = _evidence_for(self, [row])
                basis = ", ".join(evidence.basis for evidence in grounds)
                answers.append(PrintAnswer(row["form"], name, LANGUAGES[spoken], basis, grounds))
    remarks = []
    if not answers:
        remarks.append(f"The graph has no words for {thing.label}; it is printed as a sign.")
    elif spoken != tag:
        remarks.append(
            f"{LANGUAGES[tag]} has no word of its own for this and uses the Italian one."
        )
    parameters = {"technique": thing.label, "language": LANGUAGES[tag]}
    return self.answer("prints", parameters, answers, remarks)


def encoding(self: Asking, *, technique: str) -> Answers[EncodingAnswer]:
    """Return how MusicXML, SMuFL and MEI encode a technique or another sign.

    Raises ``OrchqError`` for an unknown name.

    >>> import orchq
    >>> for answer in orchq.load().ask.encoding(technique="up-bow"):
    ...     print(answer.standard, answer.name)
    MEI upbow
    MusicXML 4.0 up-bow
    SMuFL metadata stringsUpBow
    SMuFL metadata stringsUpBowTurned
    """
    thing = self.names.printed(technique)
    answers = []
    for row in self.facts("encoding", technique=thing.iri):
        standard = self.knowledge.label(row["standard"])
        grounds = Evidence(thing.iri, standard, row["name"], "published", "")
        answers.append(EncodingAnswer(standard, row["name"], row.get("note", ""), (grounds,)))
    remarks = (
        [] if answers else [f"The graph has no sign for {thing.label}: it is printed in words."]
    )
    return self.answer("encoding", {"technique": thing.label}, answers, remarks)
