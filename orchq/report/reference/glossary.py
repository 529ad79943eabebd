"""The words that scores print for every thing of the graph, in four languages."""

from collections import defaultdict
from collections.abc import Mapping, Sequence

from msgspec import Struct

from orchq.questions import Graph
from orchq.questions.naming import LANGUAGES
from orchq.questions.words import usual
from orchq.report.reference.term_links import Link, TermLinks
from orchq.report.wording import basis_name, one_line
from orchq.terms import OQ, slug_of

_PRINTED = """
SELECT ?thing ?label ?class ?term ?form ?language ?basis ?source ?order WHERE {
    { ?term oq:hasForm ?form . BIND (0 AS ?order) }
    UNION { ?term oq:hasAbbreviation ?form . BIND (1 AS ?order) }
    UNION { ?term oq:hasPlural ?form . BIND (2 AS ?order) }
    ?term oq:names ?thing ;
        oq:hasBasis ?basis .
    ?thing a ?class ;
        skos:prefLabel ?label .
    OPTIONAL { ?term oq:accordingTo/skos:prefLabel ?source }
    BIND (LANG(?form) AS ?language)
} ORDER BY ?thing ?class ?term
"""
_PLURAL = "2"


class PrintedForms(Struct, frozen=True):
    """What one term prints in one language; ``ground`` is empty where it rests on memory."""

    anchor: str
    forms: tuple[str, ...]
    ground: str


class Named(Struct, frozen=True):
    """A thing with its words by the tag of the language."""

    thing: Link
    words: Mapping[str, Sequence[PrintedForms]]


class Chapter(Struct, frozen=True):
    """The things of one class."""

    anchor: str
    title: str
    named: tuple[Named, ...]


def glossary(graph: Graph, names: TermLinks) -> tuple[Chapter, ...]:
    """All printed words, instruments first, then directives by their kinds."""
    rows: dict[str, dict[tuple[str, str], list[Mapping[str, str]]]] = defaultdict(
        lambda: defaultdict(list)
    )
    kinds: dict[str, str] = {}
    for row in graph.ask.select(_PRINTED):
        if kinds.setdefault(row["thing"], row["class"]) == row["class"]:
            rows[row["thing"]][row["term"], row["language"]].append(row)
    chapters: dict[str, list[str]] = defaultdict(list)
    for thing in sorted(rows, key=lambda iri: graph.label(iri).casefold()):
        chapters[kinds[thing]].append(thing)
    first = f"{OQ}Instrument"
    return tuple(
        Chapter(
            anchor=f"page-{slug_of(kind)}",
            title=one_line(graph.label(kind)),
            named=tuple(
                Named(names.link(thing), _by_language(rows[thing], names))
                for thing in chapters[kind]
            ),
        )
        for kind in sorted(chapters, key=lambda kind: (kind != first, graph.label(kind)))
    )


def _by_language(
    rows: Mapping[tuple[str, str], Sequence[Mapping[str, str]]], names: TermLinks
) -> Mapping[str, Sequence[PrintedForms]]:
    found: dict[str, list[PrintedForms]] = {language: [] for language in LANGUAGES}
    anchored: set[str] = set()
    for (term, language), printed in rows.items():
        if language not in found:
            continue
        here = names.page(term) == "glossary" and term not in anchored
        anchored.add(term)
        found[language].append(
            PrintedForms(
                anchor=names.anchor(term) if here else "",
                forms=tuple(
                    one_line(row["form"]) + (" (pl.)" if row["order"] == _PLURAL else "")
                    for row in sorted(printed, key=lambda row: (row["order"], usual(row)))
                ),
                ground=_ground(printed[0]),
            )
        )
    return found


def _ground(row: Mapping[str, str]) -> str:
    basis = basis_name(slug_of(row["basis"]))
    return one_line(row.get("source", "")) or ("" if basis == "memory" else basis)
