"""The rules, read from their Turtle files: what each says of itself, and its shapes."""

import re
from collections import defaultdict
from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass
from pathlib import Path

from pyoxigraph import NamedNode, Quad, Store

from orchq.errors import OrchqError
from orchq.knowledge.files import turtle_files
from orchq.knowledge.store import PROLOGUE, read_triples
from orchq.rules.finding import SEVERITIES, Evidence, Severity
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
_QUOTED = re.compile(r"\"[^\"\n]*\"|'[^'\n]*'|<[^\s<>]*>|#.*")
_FORBIDDEN = re.compile(
    r"(?<![?$\w:-])(MINUS|VALUES|UNION|SERVICE|GRAPH|FROM|GROUP|HAVING|ORDER|LIMIT|OFFSET|SELECT)"
    r"(?![\w:-])|\bAS\s+([?$]this)\b",
    re.IGNORECASE,
)
_SHAPE_PROPERTIES = frozenset(
    {RDF + "type", *(SH + name for name in ("targetClass", "severity", "sparql"))}
)


@dataclass(frozen=True, slots=True)
class RuleInfo:
    """What a rule says of itself.

    ``severities`` are those that it can report, the gravest first; ``evidence`` is what the
    rule itself rests on, beside the limits that its findings name; ``remedies`` are IRIs of the
    graph.
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


@dataclass(frozen=True, slots=True)
class Shape:
    """One query of a rule.

    ``target`` is the IRI of the class whose nodes are checked; ``query`` is the SELECT as it
    is written, without PREFIX lines, and projects ``$this ?value ?other ?limit``; ``message``
    holds the last three in braces.
    """

    iri: str
    rule_slug: str
    severity: Severity
    target: str
    query: str
    message: str


def load_rules(
    paths: Sequence[Path], label: Callable[[str], str] = local_name
) -> tuple[tuple[RuleInfo, ...], tuple[Shape, ...]]:
    """Read all rules in Turtle files, and in the Turtle files below directories.

    ``label`` turns the IRI of a source into a name to print. Both results are in the order of
    slugs, shapes of a rule with the gravest first.

    Raises ``OrchqError`` naming file and rule when a rule lacks something, or when a shape uses
    what the fast engine and the reference would not treat alike.
    """
    rules: dict[str, RuleInfo] = {}
    shapes: dict[str, Shape] = {}
    for file in _files(paths):
        reader = _RuleFile(file, read_triples(file), label)
        for iri in reader.subjects(OQ + "Rule"):
            rule, own_shapes = reader.rule(iri)
            if rule.slug in rules:
                raise reader.error(iri, "is defined twice")
            rules[rule.slug] = rule
            for shape in own_shapes:
                if shape.iri in shapes:
                    raise reader.error(shape.iri, "is the shape of two rules")
                shapes[shape.iri] = shape
    return (
        tuple(rules[slug] for slug in sorted(rules)),
        tuple(sorted(shapes.values(), key=lambda s: (s.rule_slug, -_rank(s.severity), s.iri))),
    )


def _files(paths: Iterable[Path]) -> list[Path]:
    files: list[Path] = []
    for path in paths:
        files.extend(turtle_files(path) if path.is_dir() else [path])
    return files


def _rank(severity: Severity) -> int:
    return SEVERITIES.index(severity)


class _RuleFile:
    """The triples of one file, asked for values that must be there."""

    def __init__(self, path: Path, quads: Iterable[Quad], label: Callable[[str], str]) -> None:
        self._path = path
        self._label = label
        self._values: dict[str, dict[str, list[str]]] = defaultdict(lambda: defaultdict(list))
        for quad in quads:
            if isinstance(quad.subject, NamedNode):
                value = getattr(quad.object, "value", "")
                self._values[quad.subject.value][quad.predicate.value].append(value)

    def error(self, iri: str, text: str) -> OrchqError:
        """An error that names the file and the node."""
        return OrchqError(f"{self._path}: {iri.removeprefix(RULE)} {text}")

    def subjects(self, kind: str) -> list[str]:
        """The nodes of a class, by IRI."""
        return sorted(s for s, row in self._values.items() if kind in row.get(RDF + "type", ()))

    def rule(self, iri: str) -> tuple[RuleInfo, tuple[Shape, ...]]:
        """Read a rule and its shapes."""
        if not iri.startswith(RULE):
            raise self.error(iri, f"is a rule outside the namespace {RULE}")
        slug = iri.removeprefix(RULE)
        shapes = [self._shape(slug, shape) for shape in self._all(iri, OQ + "hasShape")]
        shapes.sort(key=lambda shape: (-_rank(shape.severity), shape.iri))
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
        )
        return rule, tuple(shapes)

    def _evidence(self, iri: str) -> tuple[Evidence, ...]:
        basis = local_name(self._one(iri, OQ + "hasBasis")).replace("-", " ")
        statement = self._one(iri, SKOS + "prefLabel")
        sources = self._values[iri].get(OQ + "accordingTo", [])
        if (basis == "published") != bool(sources):
            raise self.error(iri, "must name a source if, and only if, its basis is published")
        if not sources:
            return (Evidence(iri, "", "", basis, statement),)
        locator = self._one(iri, OQ + "locator")
        return tuple(
            Evidence(iri, self._label(source), locator, basis, statement)
            for source in sorted(sources)
        )

    def _shape(self, slug: str, iri: str) -> Shape:
        for predicate in self._values[iri]:
            if predicate not in _SHAPE_PROPERTIES:
                raise self.error(iri, f"uses {predicate}, which the engines do not share")
        severity = self._one(iri, SH + "severity")
        if severity not in _SEVERITIES:
            raise self.error(iri, f"has the severity {severity}, which SHACL does not define")
        constraint = self._one(iri, SH + "sparql")
        if self._one(constraint, SH + "prefixes") != SHAPE_PREFIXES:
            raise self.error(constraint, f"must take its prefixes from {SHAPE_PREFIXES}")
        return Shape(
            iri=iri,
            rule_slug=slug,
            severity=_SEVERITIES[severity],
            target=self._one(iri, SH + "targetClass"),
            query=self._query(constraint),
            message=self._one(constraint, SH + "message"),
        )

    def _query(self, constraint: str) -> str:
        query = self._one(constraint, SH + "select")
        bare = _QUOTED.sub(" ", query)
        head = _HEAD.match(bare)
        if head is None:
            raise self.error(constraint, "must begin: SELECT $this ?value ?other ?limit WHERE {")
        forbidden = _FORBIDDEN.search(bare, head.end())
        if forbidden:
            raise self.error(constraint, f"uses {forbidden[0]}, which the engines do not share")
        try:
            Store().query(PROLOGUE + query)
        except SyntaxError as error:
            raise self.error(constraint, f"holds a query that is not SPARQL: {error}") from error
        return query

    def _all(self, subject: str, predicate: str) -> list[str]:
        values = self._values[subject].get(predicate, [])
        if not values:
            raise self.error(subject, f"has no {_short(predicate)}")
        return values

    def _one(self, subject: str, predicate: str) -> str:
        values = self._all(subject, predicate)
        if len(values) > 1:
            raise self.error(subject, f"has more than one {_short(predicate)}")
        return values[0]


def _short(predicate: str) -> str:
    return re.split(r"[/#]", predicate)[-1]
