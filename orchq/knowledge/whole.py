"""The graph as one ontology, for other programs."""

from collections.abc import Sequence

from pyoxigraph import NamedNode, Quad, Triple

from orchq.terms import OQ, OWL, RDF_TYPE

_ONTOLOGY = NamedNode(OQ + "ontology")
_INDIVIDUAL = NamedNode(OWL + "NamedIndividual")
_ONTOLOGY_CLASS, _IMPORTS = NamedNode(OWL + "Ontology"), NamedNode(OWL + "imports")


def whole_ontology(quads: Sequence[Quad]) -> list[Triple]:
    """Return the triples of the graph as one ontology, without module headers and imports.

    Individuals are declared as such, as OWL libraries expect.
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
    return list(dict.fromkeys(triples))
