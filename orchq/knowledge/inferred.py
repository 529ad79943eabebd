"""The classes that individuals belong to without being stated to: what a reasoner would add.

Classes above those that are stated, and classes defined by what their members have
(``owl:someValuesFrom``, ``owl:hasValue``, as in ``vocabulary/stringing.ttl``). It follows the same
axioms as the reasoner of ``orchq lint --reason``, for queries that have none.
"""

from collections import defaultdict
from collections.abc import Iterable, Iterator, Mapping

from pyoxigraph import BlankNode, NamedNode, Quad

from orchq.terms import OWL, RDF_TYPE, RDFS

_SUBCLASS, _SAME = NamedNode(RDFS + "subClassOf"), NamedNode(OWL + "equivalentClass")
_ON, _SOME, _VALUE = (
    NamedNode(OWL + name) for name in ("onProperty", "someValuesFrom", "hasValue")
)


def inferred_types(quads: Iterable[Quad]) -> Iterator[Quad]:
    """Yield the types that follow from the statements, without those that are stated."""
    quads = tuple(quads)
    above: dict[object, set[object]] = defaultdict(set)
    stated: dict[object, set[object]] = defaultdict(set)
    axioms: dict[object, dict[object, object]] = defaultdict(dict)
    same = []
    for quad in quads:
        if quad.predicate == RDF_TYPE:
            stated[quad.subject].add(quad.object)
        elif quad.predicate == _SUBCLASS:
            above[quad.subject].add(quad.object)
        elif quad.predicate == _SAME:
            same.append((quad.subject, quad.object))
        elif quad.predicate in (_ON, _SOME, _VALUE):
            axioms[quad.subject][quad.predicate] = quad.object
    asked = {axiom[_ON] for axiom in axioms.values()}
    links: dict[object, list[tuple[object, object]]] = defaultdict(list)
    for quad in quads:
        if quad.predicate in asked:
            links[quad.predicate].append((quad.subject, quad.object))
    known: dict[object, set[object]] = {each: {*kinds} for each, kinds in stated.items()}
    for _ in range(1 + len(same)):  # each may follow from another
        for kinds in known.values():
            _close(kinds, above)
        before = sum(map(len, known.values()))
        for named, axiom in same:
            for member in _members(axiom, axioms, links, known):
                known.setdefault(member, set()).add(named)
        if sum(map(len, known.values())) == before:
            break
    for subject, found in known.items():
        for kind in found - stated[subject]:
            if isinstance(subject, NamedNode | BlankNode) and isinstance(kind, NamedNode):
                yield Quad(subject, RDF_TYPE, kind)


def _close(kinds: set[object], above: Mapping[object, set[object]]) -> None:
    waiting = [*kinds]
    while waiting:
        more = above.get(waiting.pop(), set()) - kinds
        kinds |= more
        waiting += more


def _members(
    axiom: object,
    axioms: Mapping[object, Mapping[object, object]],
    links: Mapping[object, Iterable[tuple[object, object]]],
    known: Mapping[object, set[object]],
) -> set[object]:
    """Whoever belongs to a class, or has what a restriction asks for."""
    if axiom not in axioms:
        return {node for node, kinds in known.items() if axiom in kinds}
    restriction = axioms[axiom]
    pairs = links[restriction[_ON]]
    if _VALUE in restriction:
        return {node for node, value in pairs if value == restriction[_VALUE]}
    of = _members(restriction[_SOME], axioms, links, known)
    return {node for node, value in pairs if value in of}
