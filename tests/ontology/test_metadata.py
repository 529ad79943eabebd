"""What the vocabularies state about themselves, after a checklist for published vocabularies.

D. Garijo and M. Poveda-Villalon, "A checklist for complete vocabulary metadata"
(https://w3id.org/widoco/bestPractices), with the obligations of the table in the guide beside
it (doc/metadataGuide/guide.md at commit 006e32d): all that it recommends, and of what is optional
all that there is an answer to. Of several properties for one thing any will do.
"""

import pytest
from rdflib import DCTERMS, OWL, RDF, RDFS, SKOS, VANN, XSD, Graph, Literal, URIRef

import orchq
from orchq.knowledge.data_files import dataset_file
from orchq.knowledge.triple_formats import written
from orchq.knowledge.whole import whole_ontology
from orchq.lint.releases import releases

OQ = "https://w3id.org/orchq/"
RECOMMENDED = {
    "namespace URI": (VANN.preferredNamespaceUri,),
    "namespace prefix": (VANN.preferredNamespacePrefix,),
    "name": (RDFS.label,),
    "title": (DCTERMS.title,),
    "creators": (DCTERMS.creator,),
    "contributors": (DCTERMS.contributor, DCTERMS.creator),  # the creators are all contributors
    "version IRI": (OWL.versionIRI,),
    "version number": (OWL.versionInfo,),
}
OPTIONAL = {
    "description": (DCTERMS.description, RDFS.comment),
    "creation date": (DCTERMS.created,),
    "modification date": (DCTERMS.modified,),
    "licence": (DCTERMS.license,),
    "bibliographic citation": (DCTERMS.bibliographicCitation,),
}
OF_TERMS = {
    "label": (RDFS.label,),
    "definition": (RDFS.comment, SKOS.definition),
    "original source": (RDFS.isDefinedBy,),
}


@pytest.fixture(scope="module")
def merged():
    """The merged file without weighings, of which there are many of one form."""
    triples = whole_ontology(orchq.load().quads)
    return Graph().parse(data=written(triples, "nt", {}), format="nt")


@pytest.fixture(scope="module")
def vocabulary():
    return Graph().parse(data=orchq.export_vocabulary())


@pytest.mark.parametrize("thing", [*RECOMMENDED, *OPTIONAL])
def test_an_ontology_states_what_the_checklist_asks(merged, vocabulary, thing):
    for graph in (merged, vocabulary):
        if graph is vocabulary and thing in ("version IRI", "description"):
            continue  # those of the whole, whose part it is
        (head,) = graph.subjects(RDF.type, OWL.Ontology)
        wanted = (RECOMMENDED | OPTIONAL)[thing]
        assert any((head, name, None) in graph for name in wanted), thing


def test_a_version_names_the_one_before(merged):
    """Recommended, once there is one before."""
    assert len(releases()) == 1 or (URIRef(f"{OQ}ontology"), OWL.priorVersion, None) in merged


def test_values_are_of_their_kinds(merged):
    head = URIRef(f"{OQ}ontology")
    assert str(merged.value(head, VANN.preferredNamespaceUri)) == OQ
    assert str(merged.value(head, VANN.preferredNamespacePrefix)) == "oq"
    assert all(isinstance(each, URIRef) for each in merged.objects(head, DCTERMS.creator))
    assert isinstance(merged.value(head, DCTERMS.license), URIRef)
    dates = [merged.value(head, name) for name in (DCTERMS.created, DCTERMS.modified)]
    assert {date.datatype for date in dates} == {XSD.dateTime}
    assert dates == sorted(dates)
    version = str(merged.value(head, OWL.versionInfo))
    assert f"version {version}," in merged.value(head, DCTERMS.bibliographicCitation)


@pytest.mark.parametrize("thing", OF_TERMS)
def test_every_class_and_property_states_what_the_checklist_asks(merged, vocabulary, thing):
    for graph in (merged, vocabulary):
        kinds = (OWL.Class, OWL.ObjectProperty, OWL.DatatypeProperty)
        terms = {term for kind in kinds for term in graph.subjects(RDF.type, kind)}
        terms = {term for term in terms if str(term).startswith(OQ)}
        assert len(terms) > 60
        for term in terms:
            assert any((term, name, None) in graph for name in OF_TERMS[thing]), term


def test_every_term_says_which_ontology_defines_it(merged):
    terms = {
        subject
        for subject in merged.subjects(RDF.type, OWL.NamedIndividual)
        if str(subject).startswith(OQ)
    }
    assert len(terms) > 2000
    ontology = URIRef(f"{OQ}ontology")
    assert {t for t in terms if (t, RDFS.isDefinedBy, ontology) not in merged} == set()


def test_the_vocabulary_of_excerpts_stands_alone(vocabulary):
    assert (None, OWL.imports, None) not in vocabulary
    used = {node for triple in vocabulary for node in triple if str(node).startswith(OQ)}
    described = set(vocabulary.subjects(RDF.type))
    (head,) = vocabulary.subjects(RDF.type, OWL.Ontology)
    about_itself = {*vocabulary.objects(head), head}
    assert used - described - about_itself == set()
    assert URIRef(f"{OQ}Event") in described
    assert URIRef(f"{OQ}Instrument") in described


def test_a_catalogue_finds_data_set_and_files():
    """DCAT 3 (https://www.w3.org/TR/vocab-dcat-3/) and VoID (https://www.w3.org/TR/void/)."""
    graph = Graph().parse(dataset_file())
    dataset = URIRef(f"{OQ}dataset")
    dcat = "http://www.w3.org/ns/dcat#"
    assert (dataset, RDF.type, URIRef(f"{dcat}Dataset")) in graph
    distributions = set(graph.objects(dataset, URIRef(f"{dcat}distribution")))
    endings = {str(each).rpartition(".")[2] for each in distributions}
    assert endings == {"ttl", "rdf", "jsonld", "nt"}
    for each in distributions:
        assert (each, RDF.type, URIRef(f"{dcat}Distribution")) in graph
    merged = Graph().parse(data=orchq.export_vocabulary())
    (head,) = merged.subjects(RDF.type, OWL.Ontology)
    version = graph.value(dataset, URIRef(f"{dcat}version"))
    assert version == Literal(str(merged.value(head, OWL.versionInfo)))
