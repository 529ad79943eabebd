"""Checks that an excerpt is well formed: SHACL Core shapes, compiled to set queries."""

import re
from collections.abc import Iterator, Sequence
from pathlib import Path

from msgspec import Struct
from pyoxigraph import BlankNode, Literal, NamedNode, QuerySolutions, Store

from orchq.errors import OrchqError
from orchq.knowledge.store import PROLOGUE, load_files
from orchq.rules.engine import targeted
from orchq.terms import RDF, SH

_REST, _FIRST, _NIL = (NamedNode(RDF + name) for name in ("rest", "first", "nil"))
_NODE_KINDS = {
    "IRI": "isIRI(?v)",
    "Literal": "isLiteral(?v)",
    "BlankNodeOrIRI": "(isIRI(?v) || isBlank(?v))",
}
_FIRST_IRI = re.compile("<([^<>]+)>")
_HELD = frozenset({"path", "message", "name", "order", "severity"})


class StructureFault(Struct, frozen=True):
    """A node of an excerpt that breaks a structure shape.

    ``shape`` is the property shape, ``path`` its property or the first of several; ``value`` is
    what breaks it, a literal's text or an IRI, and ``None`` where something is missing or too many.
    """

    node: str
    message: str
    shape: str
    path: str
    value: str | None = None


def structure_faults(store: Store, files: Sequence[Path]) -> Iterator[StructureFault]:
    """Yield the faults of the excerpt in a store that holds it beside the knowledge graph."""
    shapes = load_files(files)
    for constraint in _constraints(shapes):
        target = targeted(store, constraint.target)
        solutions = store.query(PROLOGUE + _query(shapes, constraint, target))
        assert isinstance(solutions, QuerySolutions)
        valued = any(variable.value == "v" for variable in solutions.variables)
        for solution in solutions:
            value = solution["v"] if valued else None
            yield StructureFault(
                node=str(solution["this"]).strip("<>"),
                message=constraint.message,
                shape=constraint.shape,
                path=constraint.path,
                value=value.value if isinstance(value, NamedNode | Literal) else None,
            )


def excerpt_vocabulary(files: Sequence[Path]) -> frozenset[str]:
    """The classes and properties of excerpts: those that the structure shapes are about."""
    shapes = load_files(files)
    return frozenset(
        quad.object.value
        for name in ("targetClass", "path", "inversePath")
        for quad in shapes.quads_for_pattern(None, _sh(name), None)
        if isinstance(quad.object, NamedNode)
    )


class _Constraint(Struct, frozen=True):
    """One constraint of a property shape; ``name`` is its local name in SHACL.

    ``steps`` is the path in SPARQL, ``path`` the first property of it.
    """

    target: str
    shape: str
    steps: str
    path: str
    message: str
    name: str
    value: object


def _constraints(shapes: Store) -> Iterator[_Constraint]:
    for target in shapes.quads_for_pattern(None, _sh("targetClass"), None):
        for prop in shapes.quads_for_pattern(target.subject, _sh("property"), None):
            node = prop.object
            steps = _path(shapes, _one(shapes, node, "path"))
            message = _one(shapes, node, "message")
            if not (
                isinstance(node, NamedNode)
                and steps is not None
                and isinstance(message, Literal)
                and isinstance(target.object, NamedNode)
            ):
                raise OrchqError(
                    f"a property shape of {target.subject} lacks an IRI, a path or a message"
                )
            for quad in shapes.quads_for_pattern(node, None, None):
                name = quad.predicate.value.removeprefix(SH)
                if name not in _HELD and quad.predicate.value.startswith(SH):
                    yield _Constraint(
                        target.object.value,
                        node.value,
                        steps,
                        _FIRST_IRI.findall(steps)[0],
                        message.value,
                        name,
                        quad.object,
                    )


def _query(shapes: Store, constraint: _Constraint, target: str) -> str:
    """The nodes, and where it is about one the values, that break a constraint."""
    name, value, path = constraint.name, constraint.value, constraint.steps
    each = f"SELECT DISTINCT ?this ?v WHERE {{ {target} ?this {path} ?v . FILTER(%s) }}"
    if name == "minCount" and str(getattr(value, "value", "")) == "1":
        return f"SELECT DISTINCT ?this WHERE {{ {target} FILTER NOT EXISTS {{ ?this {path} ?v }} }}"
    if name == "maxCount" and isinstance(value, Literal):
        return (
            f"SELECT ?this WHERE {{ {target} ?this {path} ?v }} "
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
        # not IN, which fails on values that cannot be compared
        members = (f"sameTerm(?v, {member})" for member in _members(shapes, value))
        return each % f"!({' || '.join(members)})"
    raise OrchqError(f"structure shapes cannot use sh:{name} {value}")


def _path(shapes: Store, node: object) -> str | None:
    """A path of SHACL in SPARQL: a property, the way back along one, or several of these."""
    if isinstance(node, NamedNode):
        return str(node)
    if (inverse := _one(shapes, node, "inversePath")) is not None:
        return f"^{inverse}"
    if (several := _one(shapes, node, "alternativePath")) is not None:
        ways = [_path(shapes, each) for each in _members(shapes, several)]
        return f"({'|'.join(filter(None, ways))})" if all(ways) else None
    return None


def _members(shapes: Store, node: object) -> Iterator[object]:
    while isinstance(node, BlankNode | NamedNode) and node != _NIL:
        yield next(shapes.quads_for_pattern(node, _FIRST, None)).object
        node = next(shapes.quads_for_pattern(node, _REST, None)).object


def _one(shapes: Store, node: object, name: str) -> object:
    if not isinstance(node, BlankNode | NamedNode):
        return None
    found = [quad.object for quad in shapes.quads_for_pattern(node, _sh(name), None)]
    return found[0] if found else None


def _sh(name: str) -> NamedNode:
    return NamedNode(SH + name)
