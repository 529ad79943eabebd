"""What an excerpt may say: terms of the vocabulary, about music of its own, and nothing else.

An excerpt that described a term of the graph, or stated what is worked out, would change or silence
findings unseen. Whoever wants to change the graph writes an extension.
"""

from collections.abc import Iterable
from collections.abc import Set as AbstractSet
from pathlib import Path

from pyoxigraph import Literal, NamedNode, Quad

from orchq.errors import MalformedError, UnknownTermError
from orchq.knowledge.line_numbers import Lines
from orchq.terms import OQ, OWL, RDF_TYPE, RDFS, local_name, undeclared

_SCHEMA = frozenset(
    {
        *(RDFS + name for name in ("subClassOf", "subPropertyOf", "domain", "range")),
        *(OWL + name for name in ("equivalentClass", "equivalentProperty", "inverseOf", "sameAs")),
    }
)


def check_terms(quads: Iterable[Quad], declared: AbstractSet[str], path: Path) -> None:
    """Raise ``UnknownTermError`` for the first term of our namespace that is not ``declared``."""
    for quad in quads:
        for node in (quad.subject, quad.predicate, quad.object):
            if (
                isinstance(node, NamedNode)
                and node.value.startswith(OQ)
                and node.value not in declared
            ):
                raise UnknownTermError(_unknown(node.value, declared, path))


def check_statements(
    quads: Iterable[Quad], vocabulary: AbstractSet[str], described: AbstractSet[str], path: Path
) -> None:
    """Raise ``MalformedError`` for the statements that are not for an excerpt to make.

    ``vocabulary`` holds the classes and properties of excerpts, ``described`` what the graph
    describes.
    """
    found: dict[str, None] = {}
    lines: Lines | None = None
    for quad in quads:
        subject, predicate, value = quad.subject, quad.predicate.value, quad.object
        told = None
        if isinstance(subject, NamedNode) and subject.value in described:
            told = f"describes {_short(subject.value)} of the graph; that is for an extension"
        elif predicate in _SCHEMA:
            told = f"states {_short(predicate)}; a vocabulary is for an extension"
        elif predicate.startswith(OQ) and predicate not in vocabulary:
            told = f"states {_short(predicate)}, which is no property of excerpts"
        elif (
            quad.predicate == RDF_TYPE
            and isinstance(value, NamedNode)
            and value.value.startswith(OQ)
            and value.value not in vocabulary
        ):
            told = f"states an {_short(value.value)}, which is no class of excerpts"
        if told is not None:
            lines = lines or Lines(path)
            number = _line(lines, quad)
            found[f"{path}{f':{number}' if number else ''}: the excerpt {told}"] = None
    if found:
        raise MalformedError(found)


def _line(lines: Lines, quad: Quad) -> int | None:
    """The line of a statement, found by its own names or else below its subject."""
    names = [n.value for n in (quad.subject, quad.predicate) if isinstance(n, NamedNode)]
    if (number := lines.of_names(names)) is not None or not isinstance(quad.subject, NamedNode):
        return number
    value = quad.object.value if isinstance(quad.object, NamedNode | Literal) else None
    return lines.of_value(quad.subject.value, quad.predicate.value, value)


def _unknown(iri: str, declared: AbstractSet[str], path: Path) -> str:
    number = Lines(path).of_name(iri)
    line = f":{number}" if number else ""
    return f"{path}{line}: {undeclared(iri, declared)}"


def _short(iri: str) -> str:
    return f"oq:{local_name(iri)}" if iri.startswith(OQ) else f"<{iri}>"
