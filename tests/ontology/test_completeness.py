"""Every term explains itself: label, definition, domain and range or why not, an example."""

import pytest
from pyoxigraph import RdfFormat, parse
from rdflib import DCTERMS, OWL, RDF, RDFS, SKOS, URIRef

from orchq.knowledge.data_files import core_files
from orchq.questions import load_graph
from orchq.report.reference.term_links import TermLinks
from orchq.report.reference.vocabulary import Vocabulary

OQ = "https://w3id.org/orchq/"
PROPERTIES = (OWL.ObjectProperty, OWL.DatatypeProperty)
PREFIXES = f"""
@prefix my: <https://example.org/my#> .
@prefix score: <https://example.org/score#> .
@prefix oq: <{OQ}> .
@prefix owl: <{OWL}> .
@prefix rdfs: <{RDFS}> .
@prefix rule: <{OQ}rule/> .
@prefix skos: <{SKOS}> .
@prefix dcterms: <{DCTERMS}> .
"""


@pytest.fixture(scope="module")
def entries():
    """The classes and properties as the reference tells them."""
    graph = load_graph()
    vocabulary = Vocabulary(graph, TermLinks(graph, {}))
    modules = (vocabulary.module(path, "vocabulary") for path in core_files())
    return [entry for module in modules for entry in module.entries if entry.kind != "thing"]


def test_every_property_has_domain_and_range_or_says_why_not(ontology):
    silent = {
        (name.removeprefix(OQ), lack)
        for kind in PROPERTIES
        for name in ontology.subjects(RDF.type, kind)
        for lack, axiom in (("domain", RDFS.domain), ("range", RDFS.range))
        if ontology.value(name, axiom) is None
        and not any(
            str(note).startswith(f"No {lack}: ") for note in ontology.objects(name, SKOS.scopeNote)
        )
    }
    assert silent == set()


def test_no_property_excuses_what_it_has(ontology):
    for name, note in ontology.subject_objects(SKOS.scopeNote):
        for lack, axiom in (("domain", RDFS.domain), ("range", RDFS.range)):
            if str(note).startswith(f"No {lack}: "):
                assert ontology.value(name, axiom) is None, name


def test_every_thing_is_called_and_explained(ontology):
    """By label and definition; a statement, a pitch, a title or printed forms say as much."""
    told = (URIRef(OQ + name) for name in ("statement", "openPitch"))
    explaining = {SKOS.definition, DCTERMS.title, *told}
    forms = {URIRef(OQ + name) for name in ("hasForm", "hasPlural", "hasAbbreviation")}
    for name, kind in ontology.subject_objects(RDF.type):
        if not str(name).startswith(OQ) or kind == OWL.Ontology:
            continue
        if str(name).startswith(f"{OQ}ontology/"):  # whoever made it, named by rdfs:label
            continue
        said = set(ontology.predicates(name))
        if kind == URIRef(f"{OQ}Term"):
            assert said & forms, name
        else:
            assert SKOS.prefLabel in said, name
            assert said & explaining, name


def test_every_class_and_property_has_an_example(entries):
    assert {entry.name for entry in entries if entry.example is None} == set()
    assert len(entries) > 350


def test_examples_in_turtle_are_turtle_and_use_their_property(entries, ontology):
    for entry in entries:
        if entry.example.turtle:
            quads = list(parse(f"{PREFIXES}{entry.example.text}".encode(), RdfFormat.TURTLE))
            assert quads, entry.name
            below = ontology.transitive_subjects(RDFS.subPropertyOf, URIRef(entry.iri))
            used = {quad.predicate.value for quad in quads}
            assert entry.kind == "class" or used & set(map(str, below)), entry.name


def test_most_examples_are_actual_uses(entries):
    """What is written for the purpose stands only where neither graph nor demo has a use."""
    made = {entry.name for entry in entries if not entry.example.source}
    assert len(made) < 20
