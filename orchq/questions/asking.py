"""What every question needs: the graph to query, names to look up, evidence to name."""

from collections.abc import Iterable, Mapping
from functools import cached_property
from typing import Any, TypeVar

from msgspec import Struct
from pyoxigraph import (
    BlankNode,
    Literal,
    NamedNode,
    QuerySolutions,
    RdfFormat,
    Store,
    Triple,
    Variable,
)

from orchq.evidence import Evidence, evidence_of
from orchq.knowledge import Instrument, Knowledge, Limit, Technique, Weighing
from orchq.knowledge.data_files import place_files
from orchq.knowledge.store import PROLOGUE
from orchq.questions.answers import Answer, Answers
from orchq.questions.head import question
from orchq.questions.naming import Names
from orchq.terms import OQ, local_name

Row = Mapping[str, str]
"""One solution of a query: the variables that are bound, as IRIs or lexical forms."""

A = TypeVar("A", bound=Answer)

_FORMS = """
SELECT ?form ?named WHERE {
    ?term oq:names ?named ;
        oq:hasForm|oq:hasPlural|oq:hasAbbreviation ?form .
}"""
_COMPOSERS = """
SELECT ?composer ?name WHERE {
    ?composer a oq:Composer ;
        skos:prefLabel ?name .
} ORDER BY ?name"""
_EVIDENCE = """
SELECT $thing ?basis ?source ?locator ?statement WHERE {
    $thing oq:hasBasis ?basis .
    OPTIONAL { $thing oq:accordingTo ?source }
    OPTIONAL { $thing oq:locator ?locator }
    OPTIONAL { $thing oq:statement|skos:definition ?statement }
} LIMIT 1"""
_NOTES = """
SELECT $thing ?note ?about WHERE {
    ?note a oq:PracticeNote ;
        oq:about $thing , ?about .
} ORDER BY ?note"""


class Standpoint(Struct, frozen=True):
    """The level of player and the authority to follow, as IRIs, and as what they are shown."""

    level: str
    trust: str | None
    shown: Mapping[str, str | None]


class Asking:
    """Runs the queries of questions over a graph; keep it, since it loads a store once."""

    def __init__(self, knowledge: Knowledge) -> None:
        self.knowledge = knowledge
        self.names = Names(knowledge, self._forms)

    @cached_property
    def store(self) -> Store:
        """All triples of the graph, asserted and computed, for queries."""
        store = Store()
        store.bulk_extend(self.knowledge.quads)
        return store

    @cached_property
    def limits(self) -> Mapping[str, Limit]:
        """The limits of the graph by IRI; one for several levels stands once."""
        return {limit.iri: limit for limit in self.knowledge.limits}

    @cached_property
    def places(self) -> Store:
        """The index of places in scores; no other question reads it, so it loads when asked."""
        store = Store()
        for path in place_files():
            store.bulk_load(path=path, format=RdfFormat.TURTLE)
        return store

    @cached_property
    def composers(self) -> Mapping[str, str]:
        """The composers of that index: names by IRI."""
        rows = self.select(_COMPOSERS, self.places)
        return {row["composer"]: row["name"] for row in rows}

    def facts(
        self, name: str, store: Store | None = None, /, **bound: str | Literal | None
    ) -> list[Row]:
        """Run the query of a question with variables bound to terms; ``None`` leaves one open."""
        return self.select(question(name).query, store, **bound)

    def select(
        self, query: str, store: Store | None = None, /, **bound: str | Literal | None
    ) -> list[Row]:
        """Run a SELECT of the project's own; values reach it as terms, never as text.

        A value is an IRI, or a literal as such; ``store`` is that of the graph unless given.
        """
        terms: dict[Variable, NamedNode | BlankNode | Literal | Triple] = {
            Variable(name): value if isinstance(value, Literal) else NamedNode(value)
            for name, value in bound.items()
            if value is not None
        }
        solutions = (store or self.store).query(PROLOGUE + query, substitutions=terms)
        assert isinstance(solutions, QuerySolutions)
        names = [variable.value for variable in solutions.variables]
        rows: list[Row] = []
        for solution in solutions:
            values = ((name, solution[name]) for name in names)
            rows.append(
                {
                    name: value.value
                    for name, value in values
                    if isinstance(value, NamedNode | Literal)
                }
            )
        return rows

    def answer(
        self,
        name: str,
        parameters: Mapping[str, Any],
        answers: Iterable[A],
        remarks: Iterable[str] = (),
    ) -> Answers[A]:
        """Combine answers with the question; parameters that were left out are dropped."""
        asked = question(name)
        known = {each.keyword: each.name for each in asked.parameters}
        given = {known[key]: v for key, v in parameters.items() if v is not None and v is not False}
        return Answers(asked, given, tuple(answers), tuple(dict.fromkeys(remarks)))

    # -------------------------------------------------------------- who is asked about

    def standpoint(self, level: str | None = None, trust: str | None = None) -> Standpoint:
        """The player asked about, by default an orchestral one, and the source to follow."""
        player = OQ + "orchestral" if level is None else self.names.level(level)
        authority = None if trust is None else self.names.source(trust)
        shown = {
            "level": None if level is None else local_name(player),
            "trust": None if authority is None else authority.slug,
        }
        return Standpoint(player, None if authority is None else authority.iri, shown)

    def instruments_on(self, on: str | None) -> tuple[Instrument, ...]:
        """The instrument named, or all, the highest first."""
        if on is not None:
            return (self.names.instrument(on),)
        every = self.knowledge.instruments.values()
        return tuple(sorted(every, key=lambda each: (-each.standard.lowest.pitch.midi, each.iri)))

    def in_force(
        self,
        kind: str,
        instrument: Instrument,
        technique: str | None,
        stand: Standpoint,
    ) -> tuple[Limit, ...]:
        """The limits of a kind to calculate with; ``technique`` is an IRI."""
        return self.knowledge.in_force(
            kind,
            instrument,
            technique=technique,
            level=stand.level,
            trust=stand.trust,
        )

    def opinions(
        self, kind: str, instrument: Instrument, technique: str | None, stand: Standpoint
    ) -> tuple[Limit, ...]:
        """All limits of a kind that apply to the level, better known ones first."""
        stated = self.knowledge.heard(kind, instrument, technique=technique, trust=stand.trust)
        at_level = [limit for limit in stated if limit.level in (None, stand.level)]
        return tuple(sorted(at_level, key=lambda limit: not limit.condemns))

    def weighings(
        self, kind: str, instrument: Instrument, technique: str | None, stand: Standpoint
    ) -> tuple[Weighing, ...]:
        """The weighings of the limits of a kind; ``technique`` is an IRI."""
        return self.knowledge.weighings(
            kind,
            instrument,
            technique=technique,
            level=stand.level,
            trust=stand.trust,
        )

    def ways(self, technique: Technique) -> tuple[Technique, ...]:
        """The technique, or those that it leaves open: "harmonics" are natural or artificial."""
        every = self.knowledge.techniques.values()
        kinds = [
            each
            for each in every
            if technique.iri in each.implies and each.kinds >= technique.kinds
        ]
        at_level = any(limit.technique == technique.iri for limit in self.knowledge.limits)
        return (technique,) if at_level or not kinds else tuple(kinds)

    # -------------------------------------------------------------------- who says so

    def evidence(self, limits: Iterable[Limit | str]) -> tuple[Evidence, ...]:
        """Return the evidence of limits, given as limits or IRIs, each once."""
        every = (self.limits[each] if isinstance(each, str) else each for each in limits)
        return tuple(dict.fromkeys(evidence_of(limit) for limit in every))

    def evidence_for(self, iri: str) -> tuple[Evidence, ...]:
        """Return the evidence for a tuning, register, term or note; empty when there is none."""
        return tuple(self.evidence_from(iri, row) for row in self.select(_EVIDENCE, thing=iri))

    def evidence_from(self, iri: str, row: Row) -> Evidence:
        """Return the evidence of a statement whose ``basis`` and so on a query selected."""
        return Evidence(
            limit=iri,
            source=self.knowledge.label(row["source"]) if "source" in row else "",
            locator=row.get("locator", ""),
            basis=row["basis"].removeprefix(OQ).replace("-", " "),
            statement=row.get("statement", ""),
        )

    def notes(self, thing: str, *others: str, on: Instrument | None = None) -> tuple[Evidence, ...]:
        """Return what authors write about all of these things together, where no number holds.

        With an instrument the notes about it come first, then those about no instrument.
        """
        about: dict[str, set[str]] = {}
        for row in self.select(_NOTES, thing=thing):
            about.setdefault(row["note"], set()).add(row["about"])
        found = [note for note, things in about.items() if things.issuperset(others)]
        if on is not None:
            special = [note for note in found if on.iri in about[note]]
            general = [n for n in found if about[n].isdisjoint(self.knowledge.instruments)]
            found = special + general
        return tuple(evidence for note in found for evidence in self.evidence_for(note))

    def _forms(self) -> Iterable[tuple[str, str]]:
        return ((row["form"], row["named"]) for row in self.select(_FORMS))


def number_in(row: Row, name: str) -> float | None:
    """Return a number that a query selected, or ``None`` where the variable is unbound."""
    return float(row[name]) if name in row else None


def physics(iri: str, statement: str) -> Evidence:
    """What follows from strings, nodes and arithmetic about a term of the graph."""
    return Evidence(limit=iri, source="", locator="", basis="physics", statement=statement)
