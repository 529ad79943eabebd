"""Limits and practice notes, by source."""

from collections import defaultdict
from collections.abc import Iterable, Iterator

from msgspec import Struct

from orchq.knowledge.facts import Facts
from orchq.knowledge.model import Value
from orchq.questions import Graph
from orchq.report.reference.term_links import Link, TermLinks
from orchq.report.wording import one_line
from orchq.terms import DCTERMS, OQ, RDFS, slug_of

_SOURCE = {
    "by": DCTERMS + "creator",
    "with": DCTERMS + "contributor",
    "published by": DCTERMS + "publisher",
    "title": DCTERMS + "title",
    "issued": OQ + "yearIssued",
    "issued from": OQ + "issuedFromYear",
    "issued until": OQ + "issuedUntilYear",
    "year not known": OQ + "whyNoYear",
    "read": OQ + "partRead",
    "rights": DCTERMS + "rights",
    "opens at": RDFS + "seeAlso",
    "does not open": OQ + "whyNoAddress",
}
_ABOUT = (
    *("onInstrument", "inFamily", "forRole", "withTuning", "inRegister", "about"),
    *("limitsTechnique", "limitsDynamic", "changesFrom", "changesTo", "forLevel"),
)
"""Properties that lead from a statement to its subjects, in the order in which they are shown."""

_SHOWN_APART = frozenset({*_ABOUT, "hasBasis", "accordingTo", "locator", "statement"})


class LimitStatement(Struct, frozen=True):
    """One statement: ``figures`` are its values with what each is."""

    anchor: str
    label: str
    kind: str
    statement: str
    about: tuple[Link, ...]
    figures: tuple[tuple[str, str], ...]
    locator: str


class Stating(Struct, frozen=True):
    """A source, or a basis without one, with its statements."""

    anchor: str
    title: Link
    lines: tuple[tuple[str, str], ...]
    stated: tuple[LimitStatement, ...]


def statements(graph: Graph, names: TermLinks) -> tuple[Stating, ...]:
    """The statements of every source, then those from common practice, memory and the like."""
    facts = Facts(graph.quads)
    by_source: dict[str, list[str]] = defaultdict(list)
    by_basis: dict[str, list[str]] = defaultdict(list)
    for iri in (*facts.members("Limit"), *facts.members("PracticeNote")):
        source = facts.one(iri, "accordingTo")
        if source is not None:
            by_source[source].append(iri)
        else:
            by_basis[facts.one(iri, "hasBasis") or ""].append(iri)
    make = _Statements(facts, names)
    return (*make.chapters(by_source), *make.chapters(by_basis))


class _Statements:
    def __init__(self, facts: Facts, names: TermLinks) -> None:
        self._facts = facts
        self._names = names

    def chapters(self, stated: dict[str, list[str]]) -> Iterator[Stating]:
        for ground in sorted(stated, key=lambda iri: self._facts.label(iri).casefold()):
            yield Stating(
                anchor=f"by-{slug_of(ground)}",
                title=self._names.link(ground),
                lines=tuple(
                    (head, one_line("; ".join(map(self._facts.label, nodes)), 2000))
                    for head, name in _SOURCE.items()
                    if (nodes := self._facts.nodes(ground, name))
                ),
                stated=tuple(self._stated(iri) for iri in stated[ground]),
            )

    def _stated(self, iri: str) -> LimitStatement:
        facts = self._facts
        subjects = (each for name in _ABOUT for each in facts.objects(iri, name))
        return LimitStatement(
            anchor=self._names.anchor(iri) if self._names.page(iri) == "limits" else "",
            label=one_line(facts.label(iri)),
            kind=", ".join(one_line(facts.label(OQ + kind)) for kind in sorted(facts.kinds(iri))),
            statement=one_line(facts.one(iri, "statement") or "", 2000),
            about=self._names.links(dict.fromkeys(subjects)),
            figures=tuple(self._figures(iri)),
            locator=one_line(facts.one(iri, "locator") or ""),
        )

    def _figures(self, iri: str) -> Iterable[tuple[str, str]]:
        values = self._facts.values(iri)
        for name in sorted(set(values) - _SHOWN_APART):
            if not name.endswith(("Midi", "Rank")):
                yield self._facts.label(OQ + name), one_line(self._shown(values[name]))

    def _shown(self, value: Value) -> str:
        if isinstance(value, bool):
            return "yes" if value else "no"
        return self._facts.label(str(value)) if str(value).startswith(OQ) else str(value)
