"""Deprecated terms: still accepted, and read as their replacements."""

from collections.abc import Iterable, Mapping, Sequence

from pyoxigraph import Literal, NamedNode, Quad

from orchq.terms import DCTERMS, OQ, OWL, local_name

Replacements = Mapping[str, tuple[str, ...]]
"""The IRIs of deprecated terms, each with those of its replacements, possibly none."""

_DEPRECATED, _REPLACED_BY = NamedNode(OWL + "deprecated"), NamedNode(DCTERMS + "isReplacedBy")


def deprecated_terms(quads: Iterable[Quad]) -> Replacements:
    """Return the terms that triples state to be deprecated, with their replacements."""
    marked = [quad for quad in quads if quad.predicate in (_DEPRECATED, _REPLACED_BY)]
    return {
        quad.subject.value: tuple(
            sorted(
                other.object.value
                for other in marked
                if other.subject == quad.subject
                and other.predicate == _REPLACED_BY
                and isinstance(other.object, NamedNode)
            )
        )
        for quad in marked
        if quad.predicate == _DEPRECATED
        and isinstance(quad.subject, NamedNode)
        and isinstance(quad.object, Literal)
        and quad.object.value in ("true", "1")
    }


def renewed(
    quads: Sequence[Quad], deprecated: Replacements
) -> tuple[Sequence[Quad], tuple[str, ...]]:
    """Replace every deprecated term that has exactly one replacement.

    Returns the triples, and the deprecated terms that they used, in order. A description of a
    deprecated term is not a use of it and stays.
    """
    if not deprecated:
        return quads, ()
    described = {quad.subject for quad in quads if quad.predicate == _DEPRECATED}
    used: dict[str, None] = {}
    now = []
    for quad in quads:
        nodes = [quad.subject, quad.predicate, quad.object]
        for place, node in enumerate(nodes):
            if quad.subject in described or not isinstance(node, NamedNode):
                continue
            others = deprecated.get(node.value)
            if others is not None:
                used[node.value] = None
            if others is not None and len(others) == 1:
                nodes[place] = NamedNode(others[0])
        now.append(Quad(*nodes))  # type: ignore[arg-type]
    return now, tuple(used)


def deprecation(iri: str, deprecated: Replacements) -> str:
    """Return the message for the user of a deprecated term.

    >>> deprecation(OQ + "old", {OQ + "old": (OQ + "new",)})
    'oq:old is deprecated: write oq:new'
    """
    others = " or ".join(map(_short, deprecated[iri]))
    return f"{_short(iri)} is deprecated: {f'write {others}' if others else 'nothing replaces it'}"


def _short(iri: str) -> str:
    return f"oq:{local_name(iri)}" if iri.startswith(OQ) else iri
