"""The graph as one ontology, and the vocabulary of excerpts alone, for other programs."""

from collections.abc import Iterable, Iterator, Sequence
from collections.abc import Set as AbstractSet

from pyoxigraph import Literal, NamedNode, Quad, Triple

from orchq.terms import DCTERMS, OQ, OWL, RDF_TYPE, RDFS, SKOS

EXCERPT_VOCABULARY = OQ + "excerpt-vocabulary"
"""The IRI of the vocabulary of excerpts as an ontology of its own."""

_ONTOLOGY = NamedNode(OQ + "ontology")
_INDIVIDUAL = NamedNode(OWL + "NamedIndividual")
_ANNOTATION = NamedNode(OWL + "AnnotationProperty")
_DEFINED_BY, _LABEL = NamedNode(RDFS + "isDefinedBy"), NamedNode(RDFS + "label")
_RDFS_NAMES = {
    NamedNode(SKOS + "prefLabel"): _LABEL,
    NamedNode(SKOS + "definition"): NamedNode(RDFS + "comment"),
}
_LEADING = frozenset({RDFS + "domain", RDFS + "range", RDFS + "subClassOf"})
_KEPT = _LEADING | {
    RDF_TYPE.value,
    RDFS + "label",
    *(SKOS + name for name in ("prefLabel", "altLabel", "definition", "scopeNote", "example")),
}
_OF_THE_WHOLE = frozenset(
    {OWL + "imports", OWL + "versionIRI", RDFS + "label", RDFS + "comment", DCTERMS + "description"}
)
_ONTOLOGY_CLASS, _IMPORTS = NamedNode(OWL + "Ontology"), NamedNode(OWL + "imports")


def whole_ontology(quads: Sequence[Quad]) -> list[Triple]:
    """Return the triples of the graph as one ontology, without module headers and imports.

    What OWL libraries and documentation tools expect is added: individuals are declared, terms say
    which ontology defines them, and labels and definitions stand under their names in RDFS too.
    """
    heads = {quad.subject for quad in quads if quad.object == _ONTOLOGY_CLASS} - {_ONTOLOGY}
    triples = [
        quad.triple for quad in quads if quad.subject not in heads and quad.predicate != _IMPORTS
    ]
    triples += [
        Triple(quad.subject, RDF_TYPE, _INDIVIDUAL)
        for quad in quads
        if quad.predicate == RDF_TYPE
        and isinstance(quad.object, NamedNode)
        and not quad.object.value.startswith(OWL)
    ]
    triples += _in_rdfs(triples, _ONTOLOGY)
    return list(dict.fromkeys(triples))


def excerpt_ontology(quads: Sequence[Quad], vocabulary: AbstractSet[str]) -> list[Triple]:
    """Return the ``vocabulary`` of excerpts with all it refers to: an ontology that imports none.

    Classes that its properties lead to are described with the classes above them; their
    individuals (techniques, instruments) are not.
    """
    described: dict[str, list[Triple]] = {}
    for quad in quads:
        if isinstance(quad.subject, NamedNode):
            described.setdefault(quad.subject.value, []).append(quad.triple)
    head = NamedNode(EXCERPT_VOCABULARY)
    triples = [
        Triple(head, triple.predicate, triple.object)
        for triple in described.get(_ONTOLOGY.value, ())
        if triple.predicate.value not in _OF_THE_WHOLE
    ]
    triples.append(Triple(head, _LABEL, Literal("orchq: the excerpt vocabulary", language="en")))
    taken: set[str] = set()
    waiting = sorted(vocabulary)
    while waiting:
        iri = waiting.pop()
        if iri in taken or iri not in described:
            continue
        taken.add(iri)
        for triple in described[iri]:
            if triple.predicate.value in _KEPT:
                triples.append(triple)
                if triple.predicate.value in _LEADING and isinstance(triple.object, NamedNode):
                    waiting.append(triple.object.value)
    triples += _in_rdfs(triples, head)
    used = {triple.predicate for triple in triples}
    declared = (triple for iri in described for triple in described[iri])
    triples += [
        triple for triple in declared if triple.object == _ANNOTATION and triple.subject in used
    ]
    return list(dict.fromkeys(triples))


def _in_rdfs(triples: Iterable[Triple], ontology: NamedNode) -> Iterator[Triple]:
    """Labels and definitions as RDFS names them, and the ontology that defines each term."""
    for subject, predicate, value in tuple(triples):
        if predicate in _RDFS_NAMES:
            yield Triple(subject, _RDFS_NAMES[predicate], value)
        elif (
            predicate == RDF_TYPE
            and isinstance(subject, NamedNode)
            and subject.value.startswith(OQ)
            and subject != ontology
        ):
            yield Triple(subject, _DEFINED_BY, ontology)
