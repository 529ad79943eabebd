"""User-supplied rules: untrusted, and run in a process of their own."""

import re
from collections.abc import Collection, Iterable, Iterator, Mapping, Sequence
from functools import cached_property
from pathlib import Path

from pyoxigraph import BlankNode, NamedNode, Quad, RdfFormat, Store, serialize

from orchq.inputs import read_whole
from orchq.knowledge import Knowledge
from orchq.knowledge.extensions import LARGEST, Extension
from orchq.knowledge.line_numbers import Lines
from orchq.knowledge.store import PROLOGUE
from orchq.rules.catalogue import Collected, RuleFile, RuleInfo, Shape
from orchq.rules.engine import COLUMNS, ResultRow, explained, row_of, set_query
from orchq.sandbox.flaws import SLUG, Flaw, Tell, position, refuse
from orchq.sandbox.running import Query, select, validate, variables
from orchq.sandbox.screening import bare, plain, query_faults
from orchq.terms import OQ, OWL, RDF, SH, slug_of

_CHANGING = re.compile(r"(?<![\w?$:-])(NOW|RAND|UUID|STRUUID|BNODE)\s*\(", re.IGNORECASE)
_GROUP = re.compile(r"([\w}{.;,)]+|^)\s*\{")
_BEFORE_GROUP = ("WHERE", "OPTIONAL", "EXISTS")

_Rules = tuple[tuple[RuleInfo, ...], tuple[Shape, ...]]


def with_own(core: _Rules, knowledge: Knowledge, report: Tell = refuse) -> _Rules:
    """Return the rules of the core, and those of the extensions of a graph.

    Flaws go to ``report``, which by default raises ``OrchqError``.
    """
    collected = Collected(*core)
    targets = frozenset(shape.target for shape in core[1])
    readers = [
        OwnRuleFile(path, quads, knowledge, targets, report)
        for extension in knowledge.extensions
        for path, quads in extension.rules.items()
    ]
    for reader in readers:
        reader.look_through()
        collected.add(reader, report)
    queries = [(reader, *query) for reader in readers for query in reader.queries]
    read = variables([Query(str(reader.path), query) for reader, _, query, _ in queries])
    for (reader, constraint, _, line), found in zip(queries, read, strict=True):
        if isinstance(found, str):
            report(reader.unread(constraint, line, found))
    return collected.in_order()


class OwnRuleFile(RuleFile):
    """A file of rules in an extension: nothing else may stand in it."""

    def __init__(
        self,
        path: Path,
        quads: Sequence[Quad],
        knowledge: Knowledge,
        targets: frozenset[str],
        report: Tell = refuse,
    ) -> None:
        super().__init__(path, quads, knowledge.label, report)
        self.origin = str(path)
        self._quads = quads
        self._named: Mapping[str, tuple[str, Collection[str]]] = {
            OQ + "hasRemedy": ("remedy", knowledge.remedies),
            OQ + "hasBasis": ("basis", knowledge.declared),
            OQ + "accordingTo": ("source", knowledge.sources),
        }
        self._targets = targets
        self.queries: list[tuple[str, str, int]] = []

    @cached_property
    def _parts(self) -> frozenset[str]:
        """Shapes of the rules, and their queries."""
        return shape_nodes(self._quads)

    def look_through(self) -> None:
        """Report what in the file is no part of a rule, or is not allowed in one."""
        rules = self.subjects(OQ + "Rule")
        heads = self.subjects(OWL + "Ontology")
        nameless = {quad.subject for quad in self._quads if isinstance(quad.subject, BlankNode)}
        # Where a rule or a shape points to it, that is reported there.
        for _ in nameless.difference(quad.object for quad in self._quads):
            text = "has a blank node that is no part of a rule"
            self._report(Flaw("not-of-a-rule", self.path, None, self.path.name, text))
        for iri in sorted(self._values):
            if iri not in self._parts and iri not in rules and iri not in heads:
                text = "is neither a rule nor a shape of one: it has no place in a file of rules"
                self._report(self.flaw("not-of-a-rule", iri, text))
            elif iri.startswith(OQ):
                text = "is a name of the core; give the rule and its parts your own namespace"
                self._report(self.flaw("rule-in-the-core", iri, text))
        for iri in rules:
            row = self._values[iri]
            more = [each for each in row if each.startswith(SH)]
            more += [each for each in row[RDF + "type"] if each != OQ + "Rule"]
            for each in more:
                text = f"uses {each}: a rule points to its shapes by oq:hasShape"
                self._report(self.flaw("shape-not-shared", iri, text, value=each))
            for predicate, (kind, known) in self._named.items():
                for each in row.get(predicate, ()):
                    if each not in known:
                        text = f"names {each}, which is no {kind} of the graph"
                        self._report(self.flaw("rule-names-nothing", iri, text, predicate, each))

    def _slug(self, iri: str) -> str:
        slug = slug_of(iri)
        if not SLUG.fullmatch(slug):
            text = f"is not a valid slug: {slug!r} should be lower-case words joined by hyphens"
            self._report(self.flaw("slug-malformed", iri, text))
        return slug

    def _shape(self, slug: str, rule: str, iri: str) -> Shape:
        shape = super()._shape(slug, rule, iri)
        if shape.target and shape.target not in self._targets:
            known = ", ".join(f"oq:{each.removeprefix(OQ)}" for each in sorted(self._targets))
            text = f"targets {shape.target}; findings have a place at {known}"
            self._report(self.flaw("target-without-place", iri, text, SH + "targetClass"))
        return shape

    def _line_of(self, constraint: str, query: str) -> int:
        text = plain(read_whole(self.path, LARGEST, "triples").decode("utf-8-sig", "replace"))
        place = text.find(plain(query))
        if place < 0:
            return Lines(self.path).of_name(constraint) or 1
        return text.count("\n", 0, place) + 1

    def _parsed(self, constraint: str, query: str, line: int) -> None:
        query = plain(query)
        flaws = [
            Flaw(fault.kind, self.path, line + fault.line - 1, constraint, fault.text)
            for fault in query_faults(query)
        ]
        text = bare(query)
        if found := _CHANGING.search(text):
            message = f"uses {found[1].upper()}: orchq rules may not use it, for engines "
            message += "answer it differently"
            at = line + text.count("\n", 0, found.start())
            flaws.append(Flaw("shape-not-shared", self.path, at, constraint, message))
        for found in _GROUP.finditer(text):
            if not found[1].upper().endswith(_BEFORE_GROUP):
                message = "has a group in braces of its own: orchq rules may not use it, for the "
                message += "engines do not share it"
                at = line + text.count("\n", 0, found.end())
                flaws.append(Flaw("shape-not-shared", self.path, at, constraint, message))
                break
        for flaw in flaws:
            self._report(flaw)
        if not flaws:
            self.queries.append((constraint, query, line))

    def unread(self, constraint: str, line: int, message: str) -> Flaw:
        """A flaw of a query that the engine cannot read, on the line that it reports."""
        at, words = position(message)
        return Flaw("query-not-sparql", self.path, line + at - 1, constraint, words)


def shape_nodes(quads: Iterable[Quad]) -> frozenset[str]:
    """The IRIs of the shapes that rules name, and of their queries."""
    linked = (OQ + "hasShape", SH + "sparql")
    return frozenset(
        quad.object.value
        for quad in quads
        if quad.predicate.value in linked and isinstance(quad.object, NamedNode)
    )


def run_own(
    shapes: Sequence[Shape],
    extensions: Iterable[Extension],
    store: Store,
    quads: Sequence[Quad],
    engine: str,
    prefixes: str,
) -> Iterator[ResultRow]:
    """Run the rules of extensions over triples; ``store`` knows the classes of the graph.

    ``prefixes`` declares in Turtle those of the queries, for pySHACL. Raises ``OrchqError`` when
    a query does not end.
    """
    queries = [
        Query(f"{shape.origin}:{shape.line}: {shape.rule_slug}", _without_prologue(shape, store))
        for shape in shapes
    ]
    found = select(queries, quads)
    rows = [
        row_of(shape, *(row.get(name) for name in COLUMNS))
        for shape, rows in zip(shapes, found, strict=True)
        for row in rows
    ]
    if engine == "fast":
        yield from rows
        return
    origins = {shape.origin for shape in shapes}
    wanted = {shape.iri for shape in shapes}
    graph: list[Quad] = []
    for extension in extensions:
        for path, all_quads in extension.rules.items():
            nodes = shape_nodes(all_quads) if str(path) in origins else frozenset()
            graph.extend(q for q in all_quads if getattr(q.subject, "value", "") in nodes)
    data = serialize((quad.triple for quad in graph), format=RdfFormat.N_TRIPLES) or b""
    decided = validate(prefixes + data.decode(), quads, ", ".join(sorted(origins)))
    yield from explained({pair for pair in decided if pair[1] in wanted}, rows, shapes)


def _without_prologue(shape: Shape, store: Store) -> str:
    return set_query(shape, store).removeprefix(PROLOGUE)
