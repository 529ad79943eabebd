"""Axioms: statements with the blank nodes that they are built of, and in plain words."""

from collections import defaultdict
from collections.abc import Collection, Iterable, Mapping, Sequence
from functools import cached_property

from msgspec import Struct
from pyoxigraph import BlankNode, Literal, NamedNode, Quad

from orchq.terms import DCTERMS, OQ, OWL, RDF, RDF_TYPE, RDFS, SKOS, local_name

_SAYS_NOTHING = (SKOS, DCTERMS, f"{RDFS}label", f"{RDFS}comment")
_DECLARED = {
    f"{OWL}{name}"
    for name in ("Class", "ObjectProperty", "DatatypeProperty", "AnnotationProperty", "Ontology")
}
_WORDS = {
    RDF_TYPE.value: "{0} is one of {1}",
    f"{RDFS}subClassOf": "every {0} is one of {1}",
    f"{OWL}equivalentClass": "{0} means {1}",
    f"{OWL}disjointWith": "nothing is both {0} and {1}",
    f"{RDFS}domain": "what has {0} is one of {1}",
    f"{RDFS}range": "what {0} leads to is one of {1}",
    f"{OWL}members": "nothing is two of {1}",
}
"""The words for each kind of axiom; others are shown as subject, property, value."""


_QUANTIFIERS = {
    f"{OWL}someValuesFrom": "some",
    f"{OWL}allValuesFrom": "only",
    f"{OWL}hasValue": "value",
}


class Axiom(Struct, frozen=True, dict=True):
    """A statement, and after it those about the nameless nodes that it leads to."""

    quads: tuple[Quad, ...]

    @property
    def statement(self) -> Quad:
        """The statement itself."""
        return self.quads[0]

    @cached_property
    def names(self) -> frozenset[str]:
        """The IRIs that it mentions, without the vocabulary of OWL itself."""
        nodes = (
            node for quad in self.quads for node in (quad.subject, quad.predicate, quad.object)
        )
        iris = (node.value for node in nodes if isinstance(node, NamedNode))
        return frozenset(iri for iri in iris if not iri.startswith((OWL, RDF, RDFS)))

    def words(self, among: Collection[str] = ()) -> str:
        """The axiom as a sentence; of a long list only what is ``among`` these IRIs, if any is."""
        built: dict[object, dict[str, object]] = defaultdict(dict)
        for quad in self.quads:
            built[quad.subject][quad.predicate.value] = quad.object
        stated = self.statement
        if isinstance(stated.subject, BlankNode):
            stated = next((q for q in self.quads if q.predicate.value == f"{OWL}members"), stated)
        value = _in_words(stated.object, built, among)
        pattern = _WORDS.get(stated.predicate.value, f"{{0}} {short(stated.predicate.value)} {{1}}")
        return pattern.format(_in_words(stated.subject, built, among), value)


def parted(quads: Iterable[Quad]) -> tuple[list[Quad], list[Axiom]]:
    """Split statements into those that only declare names, and axioms; others are ignored."""
    telling = [quad for quad in quads if not quad.predicate.value.startswith(_SAYS_NOTHING)]
    about: dict[object, list[Quad]] = defaultdict(list)
    for quad in telling:
        if isinstance(quad.subject, BlankNode):
            about[quad.subject].append(quad)
    declarations, axioms = [], []
    stated: set[object] = set()
    for quad in telling:
        if quad.predicate == RDF_TYPE and getattr(quad.object, "value", "") in _DECLARED:
            declarations.append(quad)
        elif isinstance(quad.subject, NamedNode):
            axioms.append(_axiom([quad], quad.object, about, stated))
    inner = {quad.object for quad in telling}
    # Nameless nodes to which nothing leads, and then those that lead to each other in a circle.
    nodes = sorted(about, key=lambda node: node in inner)
    axioms += [_axiom([], node, about, stated) for node in nodes if node not in stated]
    return declarations, axioms


def short(iri: str) -> str:
    """A name as people write it: with the prefix of the core, or its last piece."""
    if iri.startswith(OQ):
        return f"oq:{local_name(iri)}"
    return iri[max(iri.rfind("/"), iri.rfind("#")) + 1 :] or iri


def _axiom(
    quads: list[Quad], node: object, about: Mapping[object, Sequence[Quad]], stated: set[object]
) -> Axiom:
    """The statements given, and all about a nameless node and those that it leads to."""
    waiting, seen = [node], set[object]()
    while waiting:
        node = waiting.pop()
        if node not in seen:
            seen.add(node)
            quads += about.get(node, ())
            waiting += (quad.object for quad in about.get(node, ()))
    stated |= seen
    return Axiom(tuple(quads))


def _in_words(node: object, built: dict[object, dict[str, object]], among: Collection[str]) -> str:
    """A node in words; what it is built of is used up, so that a circle ends."""
    if isinstance(node, NamedNode):
        return short(node.value)
    if isinstance(node, Literal):
        return node.value
    row = built.pop(node, {})
    if f"{RDF}first" in row:
        members = [row[f"{RDF}first"]]
        while f"{RDF}first" in (row := built.pop(row.get(f"{RDF}rest"), {})):
            members.append(row[f"{RDF}first"])
        iris = [each for each in members if getattr(each, "value", None) in among]
        return ", ".join(_in_words(each, built, among) for each in iris or members)
    on = row.pop(f"{OWL}onProperty", None)
    words = [] if on is None else [_in_words(on, built, among)]
    for name, value in row.items():
        if name != RDF_TYPE.value:
            words += [_QUANTIFIERS.get(name, short(name)), _in_words(value, built, among)]
    return " ".join(words)
