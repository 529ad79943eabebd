"""What an excerpt may state: only terms of the vocabulary, about its own music.

An excerpt that described a term of the graph, or stated derived facts, would change or suppress
findings unnoticed. Changes to the graph belong in an extension.
"""

from collections.abc import Iterable
from collections.abc import Set as AbstractSet
from pathlib import Path

from pyoxigraph import Literal, NamedNode, Quad

from orchq.errors import MalformedError, UnknownTermError, located
from orchq.knowledge.line_numbers import Lines
from orchq.terms import OQ, OWL, RDF_TYPE, RDFS, local_name, undeclared

_SCHEMA = frozenset(
    {
        *(RDFS + name for name in ("subClassOf", "subPropertyOf", "domain", "range")),
        *(OWL + name for name in ("equivalentClass", "equivalentProperty", "inverseOf", "sameAs")),
    }
)


def check_terms(quads: Iterable[Quad], declared: AbstractSet[str], path: Path) -> None:
    """Raise ``UnknownTermError`` for the terms of our namespace that are not ``declared``."""
    unknown: dict[str, None] = {}
    for quad in quads:
        for node in (quad.subject, quad.predicate, quad.object):
            if (
                isinstance(node, NamedNode)
                and node.value.startswith(OQ)
                and node.value not in declared
            ):
                unknown[node.value] = None
    if unknown:
        lines = Lines(path)
        raise UnknownTermError(
            *(located(path, lines.of_name(iri), undeclared(iri, declared)) for iri in unknown)
        )


def check_statements(
    quads: Iterable[Quad], vocabulary: AbstractSet[str], described: AbstractSet[str], path: Path
) -> None:
    """Raise ``MalformedError`` for the statements that are not for an excerpt to make.

    ``vocabulary`` holds the classes and properties of excerpts, ``described`` what the graph
    describes.
    """
    found: dict[str, None] = {}
    lines: Lines | None = None
    quads = tuple(quads)
    typed = {quad.subject for quad in quads if quad.predicate == RDF_TYPE and _is(quad, vocabulary)}
    for quad in quads:
        subject, predicate, value = quad.subject, quad.predicate.value, quad.object
        fault = None
        if isinstance(subject, NamedNode) and subject.value in described:
            fault = f"describes {_short(subject.value)} of the graph; use an extension for that"
        elif predicate in _SCHEMA:
            fault = f"states {_short(predicate)}; use an extension to define vocabulary"
        elif predicate.startswith(OQ) and predicate not in vocabulary:
            fault = f"states {_short(predicate)}, which is not a property of excerpts"
        elif predicate.startswith(OQ) and quad.subject not in typed:
            fault = (
                f"states {_short(predicate)} of {_named(subject)}, which has no class of excerpts"
            )
        elif (
            quad.predicate == RDF_TYPE
            and isinstance(value, NamedNode)
            and value.value.startswith(OQ)
            and not _is(quad, vocabulary)
        ):
            fault = f"states an {_short(value.value)}, which is not a class of excerpts"
        if fault is not None:
            lines = lines or Lines(path)
            found[located(path, _line(lines, quad), f"the excerpt {fault}")] = None
    if found:
        raise MalformedError(*found)


def _is(quad: Quad, vocabulary: AbstractSet[str]) -> bool:
    return isinstance(quad.object, NamedNode) and quad.object.value in vocabulary


def _named(subject: object) -> str:
    return subject.value if isinstance(subject, NamedNode) else "a node"


def _line(lines: Lines, quad: Quad) -> int | None:
    """The line of a statement, found by its own names or else below its subject."""
    names = [n.value for n in (quad.subject, quad.predicate) if isinstance(n, NamedNode)]
    if (number := lines.of_names(names)) is not None or not isinstance(quad.subject, NamedNode):
        return number
    value = quad.object.value if isinstance(quad.object, NamedNode | Literal) else None
    return lines.of_value(quad.subject.value, quad.predicate.value, value)


def _short(iri: str) -> str:
    return f"oq:{local_name(iri)}" if iri.startswith(OQ) else f"<{iri}>"
