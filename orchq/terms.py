"""The namespace of the vocabulary, and its names that code needs."""

import re
from collections.abc import Iterable

from pyoxigraph import NamedNode

from orchq.errors import nearest

OQ = "https://w3id.org/orchq/"
"""Namespace of every term of the vocabulary (prefix ``oq:``)."""

XSD = "http://www.w3.org/2001/XMLSchema#"
RDF = "http://www.w3.org/1999/02/22-rdf-syntax-ns#"
RDFS = "http://www.w3.org/2000/01/rdf-schema#"
OWL = "http://www.w3.org/2002/07/owl#"
SKOS = "http://www.w3.org/2004/02/skos/core#"
SH = "http://www.w3.org/ns/shacl#"
DCTERMS = "http://purl.org/dc/terms/"

PREFIXES = {
    "dcterms": DCTERMS,
    "oq": OQ,
    "owl": OWL,
    "rdf": RDF,
    "rdfs": RDFS,
    "sh": SH,
    "skos": SKOS,
    "xsd": XSD,
}
"""Prefixes that rules, questions and written Turtle share."""

RDF_TYPE = NamedNode(RDF + "type")


def oq(name: str) -> NamedNode:
    """Return the vocabulary's term with this local name.

    >>> oq("spiccato").value
    'https://w3id.org/orchq/spiccato'
    """
    return NamedNode(OQ + name)


def local_name(iri: str) -> str:
    """Return the local name of a term of the vocabulary, or the IRI itself if it is none.

    >>> local_name("https://w3id.org/orchq/spiccato")
    'spiccato'
    """
    return iri.removeprefix(OQ)


def slug_of(iri: str) -> str:
    """Return the last segment of an IRI, by which people name a term, in any namespace.

    >>> slug_of("https://example.org/octave-violin#octave-violin")
    'octave-violin'
    """
    return re.split(r"[/#]", iri)[-1]


def undeclared(iri: str, declared: Iterable[str]) -> str:
    """Return the message for an undeclared term of the vocabulary, with the nearest term.

    >>> undeclared(OQ + "spicato", {OQ + "spiccato"})
    'oq:spicato is not a term of the vocabulary; did you mean oq:spiccato?'
    """
    name = local_name(iri)
    near = nearest(name, map(local_name, sorted(declared)), 1)
    hint = f"; did you mean oq:{near[0]}?" if near else ""
    return f"oq:{name} is not a term of the vocabulary{hint}"
