"""No name of our namespace is used before it is declared."""

import re
from pathlib import Path

from rdflib import OWL, RDF, URIRef

from orchq.knowledge.data_files import core_files

ROOT = Path(__file__).parents[2]
OQ = "https://w3id.org/orchq/"
KINDS = (OWL.Class, OWL.ObjectProperty, OWL.DatatypeProperty, OWL.AnnotationProperty)


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


def _described_twice(modules, of):
    seen: dict[URIRef, str] = {}
    twice = []
    for name, graph in modules.items():
        for node in of(graph):
            if node in seen:
                twice.append((node, seen[node], name))
            seen[node] = name
    assert len(seen) > 100
    return twice


def test_each_class_and_property_is_declared_in_one_module(modules):
    def declared(graph):
        return {node for kind in KINDS for node in graph.subjects(RDF.type, kind)}

    assert _described_twice(modules, declared) == []


def test_each_name_is_described_in_one_module(modules):
    def described(graph):
        return {node for node in graph.subjects(RDF.type) if _is_plain(node)}

    assert _described_twice(modules, described) == []


def test_no_module_but_the_one_that_is_generated_is_long():
    """Of an instrument one file holds everything, and may be longer."""
    for file in [*core_files(), *(ROOT / "shapes" / "ontology").glob("*.ttl")]:
        lines = len(file.read_text(encoding="utf-8").splitlines())
        most = 600 if file.parent.name == "instruments" else 400
        assert lines <= most or file.name == "attested.ttl", file.name


def test_no_two_modules_have_names_of_the_same_words(modules):
    """Whoever looks for limits of the hand finds one file, not ``hand-limits`` beside it."""
    words = [frozenset(name.rpartition("/")[2].split("-")) for name in modules]
    assert sorted(map(sorted, words)) == sorted(map(sorted, set(words)))
