"""Statements of an extension about terms of the core: links to new terms, or changes."""

from collections.abc import Iterable, Iterator, Sequence
from functools import lru_cache

from pyoxigraph import Literal, NamedNode, Quad

from orchq.knowledge.data_files import data_directory, turtle_files
from orchq.knowledge.store import load_files
from orchq.terms import OQ, SH, local_name


def overrides(core: Iterable[Quad], extension: Sequence[Quad]) -> Iterator[Quad]:
    """Yield the statements that change the core.

    A term of the core may be linked to a new term, such as ``oq:glissando oq:availableOn`` an
    instrument of the extension, but not by a single-valued property that it already has. Any
    other statement about it changes it, and so does a new name in the namespace of the core.
    """
    stated = frozenset(core)
    described = {quad.subject for quad in stated}
    has = {(quad.subject, quad.predicate) for quad in stated}
    for quad in extension:
        subject, value = quad.subject, quad.object
        if quad in stated:
            continue
        if subject not in described:
            if isinstance(subject, NamedNode) and subject.value.startswith(OQ):
                yield quad
            continue
        is_link = isinstance(value, NamedNode) and value not in described
        is_second = (subject, quad.predicate) in has and quad.predicate.value in _had_once()
        if is_second or not is_link:
            yield quad


def abbreviated(quad: Quad) -> str:
    """Return a statement as abbreviated text.

    >>> abbreviated(Quad(NamedNode(OQ + "violin"), NamedNode(OQ + "rank"), Literal(1)))
    'oq:violin oq:rank 1'
    """
    return " ".join(map(_short, (quad.subject, quad.predicate, quad.object)))


def _short(node: object) -> str:
    if isinstance(node, NamedNode):
        return f"oq:{local_name(node.value)}" if node.value.startswith(OQ) else str(node)
    return node.value if isinstance(node, Literal) else str(node)


@lru_cache(maxsize=1)
def _had_once() -> frozenset[str]:
    """The properties of which the shapes of the ontology allow one value."""
    shapes = load_files(turtle_files(data_directory("shapes") / "ontology"))
    once = shapes.quads_for_pattern(None, NamedNode(SH + "maxCount"), Literal(1))
    return frozenset(
        path.object.value
        for shape in once
        for path in shapes.quads_for_pattern(shape.subject, NamedNode(SH + "path"), None)
        if isinstance(path.object, NamedNode)
    )
