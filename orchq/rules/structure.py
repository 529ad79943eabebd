"""Checks that an excerpt is well formed: SHACL Core shapes, compiled to set queries."""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from pathlib import Path

from pyoxigraph import BlankNode, Literal, NamedNode, QuerySolutions, Store

from orchq.errors import OrchqError
from orchq.knowledge.store import PROLOGUE, load_files
from orchq.terms import RDF, SH

_REST, _FIRST, _NIL = (NamedNode(RDF + name) for name in ("rest", "first", "nil"))
_NODE_KINDS = {
    "IRI": "isIRI(?v)",
    "Literal": "isLiteral(?v)",
    "BlankNodeOrIRI": "(isIRI(?v) || isBlank(?v))",
}
_HELD = frozenset({"path", "message", "name", "order", "severity"})


@dataclass(frozen=True, slots=True)
class StructureFault:
    """A node of an excerpt that breaks a structure shape."""

    node: str
    message: str


def structure_faults(store: Store, files: Sequence[Path]) -> Iterator[StructureFault]:
    """Yield the faults of the excerpt in a store that holds it beside the knowledge graph."""
    for message, query in _compiled(load_files(files)):
        solutions = store.query(PROLOGUE + query)
        assert isinstance(solutions, QuerySolutions)
        for solution in solutions:
            yield StructureFault(str(solution["this"]).strip("<>"), message)


def excerpt_vocabulary(files: Sequence[Path]) -> frozenset[str]:
    """The classes and properties of excerpts: those that the structure shapes are about."""
    shapes = load_files(files)
    return frozenset(
        quad.object.value
        for name in ("targetClass", "path")
        for quad in shapes.quads_for_pattern(None, _sh(name), None)
        if isinstance(quad.object, NamedNode)
    )


def _compiled(shapes: Store) -> Iterator[tuple[str, str]]:
    """Yield a message and a query for each constraint of each property shape."""
    for target in shapes.quads_for_pattern(None, _sh("targetClass"), None):
        for prop in shapes.quads_for_pattern(target.subject, _sh("property"), None):
            node = prop.object
            assert isinstance(node, BlankNode | NamedNode)
            path = _one(shapes, node, "path")
            message = _one(shapes, node, "message")
            if not isinstance(path, NamedNode) or not isinstance(message, Literal):
                raise OrchqError(f"a property shape of {target.subject} lacks a path or a message")
            for quad in shapes.quads_for_pattern(node, None, None):
                name = quad.predicate.value.removeprefix(SH)
                if name not in _HELD and quad.predicate.value.startswith(SH):
                    condition = _query(shapes, name, quad.object, str(target.object), str(path))
                    yield message.value, condition


def _query(shapes: Store, name: str, value: object, target: str, path: str) -> str:
    each = f"SELECT DISTINCT ?this WHERE {{ ?this a {target} ; {path} ?v . FILTER(%s) }}"
    if name == "minCount" and str(getattr(value, "value", "")) == "1":
        return (
            f"SELECT ?this WHERE {{ ?this a {target} . FILTER NOT EXISTS {{ ?this {path} ?v }} }}"
        )
    if name == "maxCount" and isinstance(value, Literal):
        return (
            f"SELECT ?this WHERE {{ ?this a {target} ; {path} ?v }} "
            f"GROUP BY ?this HAVING (COUNT(DISTINCT ?v) > {int(value.value)})"
        )
    if name == "datatype":
        # The cast sees whether the text is one of that datatype.
        return each % (
            f"!isLiteral(?v) || datatype(?v) != {value} || !COALESCE({value}(STR(?v)) = ?v, false)"
        )
    if name == "class":
        return each % f"NOT EXISTS {{ ?v rdf:type/rdfs:subClassOf* {value} }}"
    if name == "nodeKind" and isinstance(value, NamedNode):
        return each % f"!{_NODE_KINDS[value.value.removeprefix(SH)]}"
    if name == "pattern" and isinstance(value, Literal):
        return each % f"isBlank(?v) || !regex(str(?v), {value})"
    if name == "minInclusive":
        return each % f"!COALESCE(?v >= {value}, false)"
    if name == "in":
        members = ", ".join(str(member) for member in _members(shapes, value))
        return each % f"?v NOT IN ({members})"
    raise OrchqError(f"structure shapes cannot use sh:{name} {value}")


def _members(shapes: Store, node: object) -> Iterator[object]:
    while isinstance(node, BlankNode | NamedNode) and node != _NIL:
        yield next(shapes.quads_for_pattern(node, _FIRST, None)).object
        node = next(shapes.quads_for_pattern(node, _REST, None)).object


def _one(shapes: Store, node: object, name: str) -> object:
    assert isinstance(node, BlankNode | NamedNode)
    found = [quad.object for quad in shapes.quads_for_pattern(node, _sh(name), None)]
    return found[0] if found else None


def _sh(name: str) -> NamedNode:
    return NamedNode(SH + name)
