"""No name of our namespace is used before it is declared."""

import re
from pathlib import Path

from rdflib import OWL, RDF, Graph, URIRef

ROOT = Path(__file__).parents[2]
OQ = "https://w3id.org/orchq/"
KINDS = (OWL.Class, OWL.ObjectProperty, OWL.DatatypeProperty)


def _is_plain(node):
    """Whether the node is a name of the vocabulary, no module, rule or shape."""
    return isinstance(node, URIRef) and node.startswith(OQ) and "/" not in node[len(OQ) :]


def _used(graph):
    return {node for triple in graph for node in triple if _is_plain(node)}


def _in_queries(graph):
    texts = [str(node) for node in graph.objects() if "oq:" in str(node)]
    return {URIRef(OQ + name) for text in texts for name in re.findall(r"\boq:([\w-]+)", text)}


def test_every_name_in_the_ontology_is_declared(ontology):
    assert _used(ontology) - set(ontology.subjects(RDF.type)) == set()


def test_every_property_in_the_ontology_is_declared_as_one(ontology):
    properties = {p for p in ontology.predicates() if _is_plain(p)}
    declared = {p for kind in KINDS[1:] for p in ontology.subjects(RDF.type, kind)}
    assert properties - declared == set()


def test_every_type_in_the_ontology_is_declared_as_a_class(ontology):
    types = {node for node in ontology.objects(None, RDF.type) if _is_plain(node)}
    assert types - set(ontology.subjects(RDF.type, OWL.Class)) == set()


def test_every_name_in_a_shape_over_the_ontology_is_declared(ontology, shapes):
    names = _used(shapes) | _in_queries(shapes)
    assert len(names) > 50
    assert names - set(ontology.subjects(RDF.type)) == set()


def test_each_class_and_property_is_declared_in_one_module():
    seen: dict[URIRef, str] = {}
    for file in sorted((ROOT / "ontology").glob("*.ttl")):
        graph = Graph().parse(file)
        for node in {node for kind in KINDS for node in graph.subjects(RDF.type, kind)}:
            assert node not in seen, f"{node} is declared in {seen.get(node)} and {file.name}"
            seen[node] = file.name
    assert len(seen) > 100


def test_each_individual_is_described_in_one_module():
    seen: dict[URIRef, str] = {}
    for file in sorted((ROOT / "ontology").glob("*.ttl")):
        graph = Graph().parse(file)
        for node in {node for node in graph.subjects(RDF.type) if _is_plain(node)}:
            assert node not in seen, f"{node} is described in {seen.get(node)} and {file.name}"
            seen[node] = file.name


def test_the_whole_imports_every_module_and_nothing_else():
    files = [file for file in (ROOT / "ontology").glob("*.ttl") if file.name != "orchq.ttl"]
    whole = Graph().parse(ROOT / "ontology" / "orchq.ttl")
    imported = {str(iri) for iri in whole.objects(None, OWL.imports)}
    assert imported == {f"{OQ}ontology/{file.stem}" for file in files}
    for file in files:
        heads = set(Graph().parse(file).subjects(RDF.type, OWL.Ontology))
        assert heads == {URIRef(f"{OQ}ontology/{file.stem}")}


def test_no_module_is_long():
    files = [*(ROOT / "ontology").glob("*.ttl"), *(ROOT / "shapes" / "ontology").glob("*.ttl")]
    long = [f.name for f in files if len(f.read_text(encoding="utf-8").splitlines()) > 400]
    assert long == []
