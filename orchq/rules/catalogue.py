"""The rules, read from their Turtle files, with their descriptions and shapes."""

import re
from collections import defaultdict
from collections.abc import Callable, Collection, Iterable, Sequence
from pathlib import Path

from msgspec import Struct
from pyoxigraph import BlankNode, NamedNode, Quad, Store

from orchq.evidence import Evidence
from orchq.knowledge.data_files import turtle_files
from orchq.knowledge.line_numbers import Lines
from orchq.knowledge.store import PROLOGUE, read_triples
from orchq.sandbox.flaws import Flaw, Tell, refuse
from orchq.sandbox.screening import bare
from orchq.severity import Severity, rank
from orchq.terms import OQ, RDF, SH, SKOS, local_name

RULE = OQ + "rule/"
"""Namespace of the rules: what follows it is the slug."""

SHAPE_PREFIXES = OQ + "shapes/prefixes"
"""Where the prefixes that queries use are declared; every query names it."""

_SEVERITIES: dict[str, Severity] = {
    SH + "Violation": "violation",
    SH + "Warning": "warning",
    SH + "Info": "info",
}
_HEAD = re.compile(r"\s*SELECT\s+\$this\s+\?value\s+\?other\s+\?limit\s+WHERE\s*\{", re.IGNORECASE)
_FORBIDDEN = re.compile(
    r"(?<![?$\w:-])(MINUS|VALUES|UNION|SERVICE|GRAPH|FROM|GROUP|HAVING|ORDER|LIMIT|OFFSET|SELECT)"
    r"(?![\w:-])|\bAS\s+([?$]this)\b",
    re.IGNORECASE,
)
_BOUND_BY_SHACL = re.compile(r"[?$](?:currentShape|shapesGraph|PATH)(?!\w)")
"""Variables that SHACL binds, or replaces, and a query of its own does not."""
_SLOT = re.compile(r"\{[?$](\w+)\}")
_SLOTS = ("value", "other", "limit")
_SHAPE_PROPERTIES = frozenset(
    {RDF + "type", *(SH + name for name in ("targetClass", "severity", "sparql"))}
)
_QUERY_PROPERTIES = frozenset(
    {RDF + "type", *(SH + name for name in ("message", "prefixes", "select"))}
)


class RuleInfo(Struct, frozen=True):
    """The description of a rule.

    ``severities`` are those that it can report, the gravest first; ``evidence`` is what the
    rule itself rests on, beside the limits that its findings name; ``remedies`` are IRIs of the
    graph. ``origin`` is the file of an extension that brings the rule, empty for one of the core.
    ``targets`` are the classes (IRIs) of which it checks the nodes.
    """

    iri: str
    slug: str
    label: str
    severities: tuple[Severity, ...]
    why: str
    instead: str
    bad: str
    good: str
    evidence: tuple[Evidence, ...]
    remedies: tuple[str, ...] = ()
    origin: str = ""
    targets: tuple[str, ...] = ()


class Shape(Struct, frozen=True):
    """One query of a rule.

    ``target`` is the IRI of the class whose nodes are checked; ``query`` is the SELECT as it
    is written, without PREFIX lines, and projects ``$this ?value ?other ?limit``; ``message``
    holds the last three in braces. ``origin`` and ``line`` are where the query of an extension's
    rule begins.
    """

    iri: str
    rule_slug: str
    severity: Severity
    target: str
    query: str
    message: str
    origin: str = ""
    line: int = 0


def load_rules(
    paths: Sequence[Path], label: Callable[[str], str] = local_name
) -> tuple[tuple[RuleInfo, ...], tuple[Shape, ...]]:
    """Read all rules of the core in Turtle files, and in the Turtle files below directories.

    ``label`` turns the IRI of a source into a name to print. Both results are in the order of
    slugs, shapes of a rule with the gravest first.

    Raises ``OrchqError`` naming file and rule when a rule lacks something, or when a shape uses
    what the fast engine and the reference would not treat alike.
    """
    collected = Collected()
    for file in _files(paths):
        collected.add(RuleFile(file, read_triples(file), label), refuse)
    return collected.in_order()


class Collected:
    """Rules and shapes of several files, each known by one name."""

    def __init__(self, rules: Iterable[RuleInfo] = (), shapes: Iterable[Shape] = ()) -> None:
        self._rules = {rule.slug: rule for rule in rules}
        self._shapes = {shape.iri: shape for shape in shapes}

    def add(self, reader: "RuleFile", report: Tell) -> None:
        """Add the rules of a file; flaws go to ``report``."""
        for iri in reader.subjects(OQ + "Rule"):
            rule, own_shapes = reader.rule(iri)
            if rule.slug in self._rules:
                where = self._rules[rule.slug].origin or "the core"
                report(reader.flaw("slug-taken", iri, f"is defined twice: {where} has it too"))
                continue
            self._rules[rule.slug] = rule
            for shape in own_shapes:
                if shape.iri in self._shapes:
                    report(reader.flaw("shape-shared", shape.iri, "is the shape of two rules"))
                self._shapes[shape.iri] = shape

    def in_order(self) -> tuple[tuple[RuleInfo, ...], tuple[Shape, ...]]:
        """Rules by slug, and the shapes of each with the gravest first."""
        return (
            tuple(self._rules[slug] for slug in sorted(self._rules)),
            tuple(
                sorted(self._shapes.values(), key=lambda s: (s.rule_slug, -rank(s.severity), s.iri))
            ),
        )


def _files(paths: Iterable[Path]) -> list[Path]:
    files: list[Path] = []
    for path in paths:
        files.extend(turtle_files(path) if path.is_dir() else [path])
    return files


class RuleFile:
    """The triples of one file, with access to values that must be there.

    Flaws go to ``report``; when that returns, reading continues without the value.
    """

    namespace = RULE
    origin = ""

    def __init__(
        self,
        path: Path,
        quads: Iterable[Quad],
        label: Callable[[str], str],
        report: Tell = refuse,
    ) -> None:
        self.path = path
        self._label = label
        self._report = report
        self._values: dict[str, dict[str, list[str]]] = defaultdict(lambda: defaultdict(list))
        for quad in quads:
            if isinstance(quad.subject, NamedNode):
                value = quad.object
                text = str(value) if isinstance(value, BlankNode) else getattr(value, "value", "")
                self._values[quad.subject.value][quad.predicate.value].append(text)

    def flaw(self, kind: str, iri: str, text: str, predicate: str = "", value: str = "") -> Flaw:
        """A flaw of a node, on the line of a property with its value where they are known."""
        lines = Lines(self.path)
        line = lines.of_value(iri, predicate or None, value or None) or lines.of_name(iri)
        return Flaw(kind, self.path, line, iri, text)

    def subjects(self, kind: str) -> list[str]:
        """The nodes of a class, by IRI."""
        return sorted(s for s, row in self._values.items() if kind in row.get(RDF + "type", ()))

    def rule(self, iri: str) -> tuple[RuleInfo, tuple[Shape, ...]]:
        """Read a rule and its shapes."""
        slug = self._slug(iri)
        shapes = [self._shape(slug, iri, shape) for shape in self._all(iri, OQ + "hasShape")]
        shapes.sort(key=lambda shape: (-rank(shape.severity), shape.iri))
        rule = RuleInfo(
            iri=iri,
            slug=slug,
            label=self._one(iri, SKOS + "prefLabel"),
            severities=tuple(dict.fromkeys(shape.severity for shape in shapes)),
            why=self._one(iri, OQ + "whyItMatters"),
            instead=self._one(iri, OQ + "whatInstead"),
            bad=self._one(iri, OQ + "badExample"),
            good=self._one(iri, OQ + "goodExample"),
            evidence=self._evidence(iri),
            remedies=tuple(sorted(self._values[iri].get(OQ + "hasRemedy", ()))),
            origin=self.origin,
            targets=tuple(dict.fromkeys(shape.target for shape in shapes)),
        )
        return rule, tuple(shapes)

    def _slug(self, iri: str) -> str:
        if not iri.startswith(RULE):
            text = f"is a rule outside the namespace {RULE}"
            self._report(self.flaw("rule-outside-namespace", iri, text))
        return iri.removeprefix(RULE)

    def _evidence(self, iri: str) -> tuple[Evidence, ...]:
        basis = local_name(self._one(iri, OQ + "hasBasis")).replace("-", " ")
        statement = self._text(iri, SKOS + "prefLabel")
        sources = self._values[iri].get(OQ + "accordingTo", [])
        if basis and (basis == "published") != bool(sources):
            text = "must name a source if, and only if, its basis is published"
            self._report(self.flaw("rule-source", iri, text, OQ + "hasBasis"))
        if not sources:
            return (Evidence(iri, "", "", basis, statement),)
        locator = self._one(iri, OQ + "locator")
        return tuple(
            Evidence(iri, self._label(source), locator, basis, statement)
            for source in sorted(sources)
        )

    def _shape(self, slug: str, rule: str, iri: str) -> Shape:
        if iri.startswith("_:"):
            text = "has a shape without an IRI of its own"
            self._report(self.flaw("shape-incomplete", rule, text, OQ + "hasShape"))
            return Shape(iri, slug, "info", "", "", "")
        self._closed(iri, _SHAPE_PROPERTIES, SH + "NodeShape")
        severity = self._one(iri, SH + "severity")
        if severity and severity not in _SEVERITIES:
            text = f"has the severity {severity}, which SHACL does not define"
            self._report(self.flaw("shape-incomplete", iri, text, SH + "severity"))
        target = self._one(iri, SH + "targetClass")
        constraint = self._one(iri, SH + "sparql")
        if constraint.startswith("_:"):
            text = "has a query without an IRI of its own"
            self._report(self.flaw("shape-incomplete", iri, text, SH + "sparql"))
        if not constraint or constraint.startswith("_:"):
            return Shape(iri, slug, "info", target, "", "")
        self._closed(constraint, _QUERY_PROPERTIES, SH + "SPARQLConstraint")
        prefixes = self._one(constraint, SH + "prefixes")
        if prefixes and prefixes != SHAPE_PREFIXES:
            text = f"must take its prefixes from {SHAPE_PREFIXES}"
            self._report(self.flaw("shape-incomplete", constraint, text, SH + "prefixes"))
        query, line = self._query(constraint)
        message = self._one(constraint, SH + "message")
        for slot in _SLOT.finditer(message) if query else ():
            if slot[1] not in _SLOTS:
                text = f"has a message with {slot[0]}: orchq rules may not use it; a message names "
                text += "{?value}, {?other} and {?limit}"
                self._report(self.flaw("message-names-nothing", iri, text))
        return Shape(
            iri=iri,
            rule_slug=slug,
            severity=_SEVERITIES.get(severity, "info"),
            target=target,
            query=query,
            message=message,
            origin=self.origin,
            line=line,
        )

    def _closed(self, iri: str, properties: Collection[str], kind: str) -> None:
        """Report what both engines would not treat alike."""
        row = self._values[iri]
        others = [each for each in row if each not in properties]
        others += [each for each in row.get(RDF + "type", ()) if each != kind]
        for other in others:
            text = f"uses {other}: orchq rules may not use it, for the engines do not share it"
            self._report(self.flaw("shape-not-shared", iri, text, value=other))

    def _query(self, constraint: str) -> tuple[str, int]:
        """A query, from its SELECT on, and the line of the file on which it begins."""
        whole = self._one(constraint, SH + "select")
        if not whole:
            return "", 0
        text = bare(whole)
        head = _HEAD.match(text)
        if head is None:
            text = "must begin: SELECT $this ?value ?other ?limit WHERE {"
            self._report(self.flaw("query-head", constraint, text, SH + "select"))
            return "", 0
        forbidden = _FORBIDDEN.search(text, head.end()) or _BOUND_BY_SHACL.search(text, head.end())
        if forbidden:
            text = (
                f"uses {forbidden[0]}: orchq rules may not use it, for the engines do not share it"
            )
            self._report(self.flaw("shape-not-shared", constraint, text, value=forbidden[0]))
        start = len(text) - len(text.lstrip())
        query = whole[start:]
        line = self._line_of(constraint, whole) + whole.count("\n", 0, start)
        self._parsed(constraint, query, line)
        return query, line

    def _line_of(self, constraint: str, query: str) -> int:  # noqa: ARG002 - an extension's are known
        return 0

    def _parsed(self, constraint: str, query: str, line: int) -> None:  # noqa: ARG002 - as above
        try:
            Store().query(PROLOGUE + query)
        except SyntaxError as error:
            text = f"holds a query that is not SPARQL: {error}"
            self._report(self.flaw("query-not-sparql", constraint, text))

    def _all(self, subject: str, predicate: str) -> list[str]:
        values = self._values[subject].get(predicate, [])
        if not values:
            text = f"has no {_short(predicate)}"
            self._report(self.flaw("rule-incomplete", subject, text))
        return values

    def _one(self, subject: str, predicate: str) -> str:
        values = self._all(subject, predicate)
        if len(values) > 1:
            text = f"has more than one {_short(predicate)}"
            self._report(self.flaw("rule-incomplete", subject, text, predicate))
        return values[0] if values else ""

    def _text(self, subject: str, predicate: str) -> str:
        return next(iter(self._values[subject].get(predicate, ())), "")


def _short(predicate: str) -> str:
    return re.split(r"[/#]", predicate)[-1]
