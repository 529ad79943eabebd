"""An actual use of every term: in the graph, in the demo piece, or a mistake that a rule names."""

from collections import defaultdict
from collections.abc import Iterable, Iterator, Sequence
from typing import Any

from msgspec import Struct
from pyoxigraph import BlankNode, NamedNode, Quad

from orchq.api import read
from orchq.derive.derivation import derive
from orchq.excerpt import score_quads
from orchq.knowledge.data_files import place_files, rule_files, shipped_extensions
from orchq.knowledge.store import read_triples
from orchq.packaged import demo_path
from orchq.questions import Graph, load_graph
from orchq.report.reference.term_links import TermLinks
from orchq.report.wording import one_line
from orchq.rules.catalogue import RuleInfo, Shape
from orchq.rules.checking import rules_of
from orchq.rules.engine import TERM
from orchq.terms import OQ, RDF_TYPE, SKOS

_LEFT_OUT = (SKOS, f"{OQ}statement")
"""What the example of a class leaves out, for it stands on the pages in words."""

_MOST = 4
"""Properties in an example, and values of one of them."""

_FEW = 4
"""Statements of which none is left out."""


class TermUse(Struct, frozen=True):
    """A use of a term in Turtle, or in words where ``turtle`` is false; ``source`` says whose."""

    text: str
    source: str
    turtle: bool = True


class _Pool:
    """Triples in which uses are looked for."""

    def __init__(self, source: str, quads: Iterable[Quad]) -> None:
        self.source = source
        self.rows: dict[Any, list[Quad]] = defaultdict(list)
        self.members: dict[str, list[NamedNode]] = defaultdict(list)
        self.uses: dict[str, list[Quad]] = defaultdict(list)
        for quad in quads:
            if not isinstance(quad.subject, NamedNode) or isinstance(quad.object, BlankNode):
                continue
            self.rows[quad.subject].append(quad)
            if quad.predicate == RDF_TYPE and isinstance(quad.object, NamedNode):
                self.members[quad.object.value].append(quad.subject)
            else:
                self.uses[quad.predicate.value].append(quad)


class TermUses:
    """Finds uses: first in the graph, then in the demo piece, shipped extensions, rules, places."""

    def __init__(self, graph: Graph, names: TermLinks) -> None:
        self._names = names
        score = read(demo_path(), graph)
        shipped = shipped_extensions()
        rules = [quad for file in rule_files() for quad in read_triples(file)]
        self._pools = [
            _Pool("the graph", graph.quads),
            _Pool("the demo piece", [*score_quads(score), *derive(score, graph).quads]),
            *(_Pool(f"the extension {name}", read_triples(shipped[name])) for name in shipped),
            _Pool("the rules", rules),
            *(_Pool("the places in scores", _named(read_triples(file))) for file in place_files()),
        ]
        self._inferred: dict[str, list[str]] = defaultdict(list)
        instruments = load_graph(shipped).ask.facts("instruments")
        for row in sorted(
            instruments, key=lambda row: not row.get("instrument", "").startswith(OQ)
        ):
            if "instrument" in row:
                self._inferred[row["kind"]].append(row["instrument"])
        self._wrong: dict[str, RuleInfo] = {}
        infos, shapes = rules_of(graph)
        by_slug = {info.slug: info for info in infos}
        for shape in shapes:
            for iri in asked_of(shape):
                self._wrong.setdefault(iri, by_slug[shape.rule_slug])

    def of_class(self, iri: str, below: Sequence[str]) -> TermUse | None:
        """A member of a class, or of one of those below it."""
        for pool in self._pools:
            for kind in (iri, *below):
                for member in pool.members.get(kind, ())[:1]:
                    return self._written(pool, pool.rows[member])
        for pool in self._pools:
            for member in map(NamedNode, sorted(self._inferred.get(iri, ()), key=_own_last)):
                if member in pool.rows:
                    return self._written(pool, pool.rows[member])
        return self._reported(iri) or next(filter(None, map(self._reported, below)), None)

    def of_property(self, iri: str, below: Sequence[str]) -> TermUse | None:
        """Something that has a property, or one of those below it, with what it is."""
        for name in (iri, *below):
            for pool in self._pools:
                for use in pool.uses.get(name, ())[:1]:
                    row = pool.rows[use.subject]
                    kept = [q for q in row if q.predicate == RDF_TYPE or q.predicate.value == name]
                    return self._written(pool, kept)
        return self._reported(iri)

    def _reported(self, iri: str) -> TermUse | None:
        """The mistake of a rule that asks for a term."""
        if (rule := self._wrong.get(iri)) is None:
            return None
        return TermUse(one_line(rule.bad, 2000), f"the rule {rule.slug}", turtle=False)

    def _written(self, pool: _Pool, row: Sequence[Quad]) -> TermUse:
        """Statements about one thing as Turtle; each property with some of its values."""
        statements: dict[str, dict[str, None]] = {"a": {}}
        for quad in row:
            name = quad.predicate.value
            if len(row) < _FEW or not name.startswith(_LEFT_OUT):
                head = "a" if quad.predicate == RDF_TYPE else self._names.short(name)
                statements.setdefault(head, {})[self._names.value(quad.object)] = None
        lines = [
            f"{head} {', '.join(list(values)[:_MOST])}"
            for head, values in list(statements.items())[: _MOST + 1]
            if values
        ]
        subject = self._names.value(row[0].subject)
        return TermUse(f"{subject} " + " ;\n    ".join(lines) + " .", pool.source)


def _named(quads: Iterable[Quad]) -> Iterator[Quad]:
    """The triples, with a name for each thing that has none."""
    names: dict[BlankNode, NamedNode] = {}
    for quad in quads:
        if isinstance(quad.subject, BlankNode):
            name = names.setdefault(quad.subject, NamedNode(f"tag:place/{len(names) + 1}"))
            yield Quad(name, quad.predicate, quad.object)
        else:
            yield quad


def _own_last(iri: str) -> bool:
    return not iri.startswith(OQ)


def asked_of(shape: Shape) -> frozenset[str]:
    """The IRIs of our terms that a shape asks for: its target, and what its query names."""
    return frozenset((shape.target, *terms_in(shape.query)))


def terms_in(query: str) -> frozenset[str]:
    """The IRIs of our terms that a query names."""
    return frozenset(OQ + name for name in TERM.findall(query))
