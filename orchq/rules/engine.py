"""Runs rule shapes over a store: one set query for each constraint, or pySHACL as the reference."""

import re
from collections.abc import Iterable, Iterator, Sequence
from functools import lru_cache
from pathlib import Path

from msgspec import Struct
from pyoxigraph import (
    BlankNode,
    DefaultGraph,
    Literal,
    NamedNode,
    QuerySolutions,
    RdfFormat,
    Store,
    Triple,
)

from orchq.errors import OrchqError
from orchq.knowledge.store import PROLOGUE
from orchq.rules.catalogue import Shape
from orchq.sandbox.reference_engine import Pairs, validated
from orchq.terms import RDF_TYPE, RDFS, oq

_SELECT = re.compile(r"SELECT\s+(?P<columns>[^{]*?)\s+WHERE\s*\{", re.IGNORECASE)
_SUBCLASS = NamedNode(RDFS + "subClassOf")
TERM = re.compile(r"(?<![\w-])oq:([\w-]+)")
"""A term of our vocabulary in a query, by its local name."""
_IRI = re.compile(r"<([^<>\s]+)>")
_OPEN_PREDICATE = re.compile(r"(?:[?$]\w+|[\w-]+:[\w-]+|;)\s+[?$]\w+\s+[?$\w<\"]")
COLUMNS = ("this", "value", "other", "limit")
"""What every constraint projects."""

Term = NamedNode | BlankNode | Literal | Triple | None


class ResultRow(Struct, frozen=True):
    """One result of a shape: the node in focus and the columns that explain it."""

    focus: str
    shape: Shape
    value: NamedNode | Literal | None = None
    other: NamedNode | Literal | None = None
    limit: str | None = None


def run_fast(store: Store, shapes: Iterable[Shape]) -> Iterator[ResultRow]:
    """Run each constraint once, over all its targets together."""
    for shape in shapes:
        solutions = store.query(set_query(shape, store))
        assert isinstance(solutions, QuerySolutions)
        for solution in solutions:
            yield row_of(shape, *(solution[name] for name in COLUMNS))


def row_of(shape: Shape, this: Term, value: Term, other: Term, limit: Term) -> ResultRow:
    """A result from its four columns."""
    return ResultRow(
        focus=_text(this),
        shape=shape,
        value=value if isinstance(value, NamedNode | Literal) else None,
        other=other if isinstance(other, NamedNode | Literal) else None,
        limit=None if limit is None else _text(limit),
    )


def set_query(shape: Shape, store: Store) -> str:
    """Turn a constraint with pre-bound ``$this`` into one query over all nodes of its target."""
    return PROLOGUE + select_over(shape, targeted(store, shape.target))


def select_over(shape: Shape, target: str) -> str:
    """The query of a constraint over all nodes that a pattern of SPARQL binds as ``$this``."""
    match = _SELECT.search(shape.query)
    if match is None:
        raise OrchqError(f"the query of {shape.iri} has no SELECT ... WHERE {{")
    return f"SELECT DISTINCT {match['columns']} WHERE {{ {target} {shape.query[match.end() :]}"


def targeted(store: Store, iri: str) -> str:
    """A pattern of SPARQL for the nodes of a class and of its subclasses, as ``$this``."""
    classes = sorted(_with_subclasses(store, iri))
    if len(classes) == 1:
        return f"$this a <{classes[0]}> ."
    return " UNION ".join(f"{{ $this a <{each}> }}" for each in classes)


def predicates_asked(shapes: Iterable[Shape]) -> frozenset[NamedNode] | None:
    """The properties that the queries of these shapes can touch, ``None`` for all.

    A store that holds no other triples gives the same results; a query that asks for a property
    by a variable needs them all.
    """
    return _predicates_asked(tuple(shapes))


@lru_cache(maxsize=64)
def _predicates_asked(shapes: tuple[Shape, ...]) -> frozenset[NamedNode] | None:
    asked: set[NamedNode] = {_SUBCLASS, RDF_TYPE}
    for shape in shapes:
        _, _, body = shape.query.partition("{")
        if _OPEN_PREDICATE.search(body):
            return None
        asked.update(oq(name) for name in TERM.findall(body))
        asked.update(NamedNode(iri) for iri in _IRI.findall(body))
    return frozenset(asked)


def _with_subclasses(store: Store, iri: str) -> set[str]:
    found: set[str] = set()
    waiting = [iri]
    while waiting:
        current = waiting.pop()
        if current not in found:
            found.add(current)
            pattern = store.quads_for_pattern(None, _SUBCLASS, NamedNode(current))
            waiting.extend(_text(quad.subject) for quad in pattern)
    return found


def run_pyshacl(
    store: Store, shapes: Sequence[Shape], files: Sequence[Path]
) -> Iterator[ResultRow]:
    """Let pySHACL decide, then explain each result with the columns of the constraint.

    Raises ``OrchqError`` when pySHACL itself fails, which it reports without raising.
    """
    triples = store.dump(format=RdfFormat.N_TRIPLES, from_graph=DefaultGraph())
    assert triples is not None
    decided = validated(triples.decode(), "", files)
    yield from explained(decided, run_fast(store, shapes), shapes)


def explained(
    decided: Pairs, rows: Iterable[ResultRow], shapes: Iterable[Shape]
) -> Iterator[ResultRow]:
    """What pySHACL decided, with the columns of the fast engine's rows where it has them."""
    by_iri = {shape.iri: shape for shape in shapes}
    reported: set[tuple[str, str]] = set()
    for row in rows:
        pair = (row.focus, row.shape.iri)
        if pair in decided:
            reported.add(pair)
            yield row
    for focus, shape_iri in sorted(decided - reported):
        if shape_iri in by_iri:
            yield ResultRow(focus, by_iri[shape_iri])


def _text(node: object) -> str:
    if isinstance(node, BlankNode):
        return f"_:{node.value}"
    assert isinstance(node, NamedNode | Literal)
    return node.value
