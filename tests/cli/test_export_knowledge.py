"""The graph as a file, for ontology editors and other libraries."""

import io
from collections import Counter

import pytest
from pyoxigraph import RdfFormat, parse
from rdflib import OWL, RDF, RDFS, SKOS, Graph

import orchq
from orchq.errors import OrchqError
from orchq.knowledge.data_files import shipped_extensions
from orchq.questions.open_graph import weighed_quads

FORMATS = {"turtle": "turtle", "nt": "nt", "jsonld": "json-ld", "owl": "xml"}
OQ = "https://w3id.org/orchq/"


@pytest.fixture(scope="module")
def exported():
    return {name: orchq.export_knowledge(format=name) for name in FORMATS}


@pytest.fixture(scope="module")
def parsed(exported):
    """What rdflib reads; it takes long over the others."""
    return {
        name: Graph().parse(data=exported[name], format=FORMATS[name]) for name in ("nt", "owl")
    }


@pytest.mark.nightly
def test_every_format_holds_the_same_triples(exported, parsed):
    for name, format_ in (("turtle", RdfFormat.TURTLE), ("jsonld", RdfFormat.JSON_LD)):
        held = {quad.triple for quad in parse(exported[name].encode(), format_)}
        assert len(held) == len(parsed["nt"]), name


@pytest.mark.nightly
@pytest.mark.parametrize("name", ["turtle", "jsonld"])
def test_another_library_reads_as_many_triples(exported, parsed, name):
    assert len(Graph().parse(data=exported[name], format=FORMATS[name])) == len(parsed["nt"])


@pytest.mark.nightly
def test_the_whole_graph_is_there(parsed):
    quads = weighed_quads(orchq.load())
    whole = parsed["nt"]
    heads = {quad.subject for quad in quads if quad.object.value == str(OWL.Ontology)}
    lost = {
        quad.triple
        for quad in quads
        if quad.subject.value == OQ + "ontology" or quad.subject not in heads
    }
    stated = Counter(triple.predicate.value for triple in lost)
    del stated[str(OWL.imports)]
    written = Counter(str(predicate) for _, predicate, _ in whole)
    assert not stated - written
    added = {RDF.type, RDFS.isDefinedBy, RDFS.label, RDFS.comment}
    added |= {SKOS.definition, SKOS.altLabel}  # translations, and words as labels
    assert set(written - stated) <= set(map(str, added))
    assert len(set(whole.triples((None, RDF.type, OWL.NamedIndividual)))) > 3000


@pytest.mark.nightly
def test_nothing_that_opens_it_fetches_anything(parsed):
    for whole in parsed.values():
        assert not set(whole.objects(None, OWL.imports))
        assert {str(node) for node in whole.subjects(None, OWL.Ontology)} == {OQ + "ontology"}


@pytest.mark.nightly
def test_it_opens_in_owlready2_with_as_many_triples(exported, parsed, tmp_path):
    import owlready2  # noqa: PLC0415 - heavy

    path = tmp_path / "orchq.owl"
    path.write_text(exported["owl"], encoding="utf-8")
    world = owlready2.World()
    ontology = world.get_ontology(path.as_uri()).load()
    assert len(ontology.graph) == len(parsed["owl"])
    names = {individual.iri for individual in world.individuals()}
    graph = orchq.load()
    assert names >= {*graph.instruments, *graph.techniques, *(each.iri for each in graph.limits)}
    assert "arco" in {each.name for each in world[OQ + "spiccato"].implies}


@pytest.mark.nightly
def test_all_extensions_as_owl_open_in_two_libraries_with_as_many_triples(parsed):
    import owlready2  # noqa: PLC0415 - heavy

    graph = orchq.load(shipped_extensions())
    text = orchq.export_knowledge(graph, format="owl")
    whole = Graph().parse(data=text, format="xml")
    world = owlready2.World()
    ontology = world.get_ontology(f"{OQ}ontology").load(fileobj=io.BytesIO(text.encode()))
    assert len(ontology.graph) == len(whole) > len(parsed["owl"])
    added = set(graph.instruments) - set(orchq.load().instruments)
    assert added <= {individual.iri for individual in world.individuals()}


@pytest.mark.long
def test_the_command_writes_it(run, tmp_path):
    out = tmp_path / "graph.ttl"
    assert run("export", "--knowledge", "-o", out).code == 0
    assert out.read_text(encoding="utf-8") == orchq.export_knowledge()


@pytest.mark.long
def test_an_extension_goes_with_it(run, tmp_path):
    extension = tmp_path / "mine.ttl"
    extension.write_text("<urn:me> <urn:likes> <urn:you> .", encoding="utf-8")
    outcome = run("export", "--knowledge", "--format", "nt", "--with", extension)
    assert "<urn:me> <urn:likes> <urn:you> ." in outcome.out


@pytest.mark.parametrize("arguments", [[], ["score.musicxml", "--knowledge"]])
def test_either_a_score_or_the_graph_is_written(run, arguments):
    outcome = run("export", *arguments)
    assert outcome.code == 2
    assert "--knowledge" in outcome.err


def test_unknown_formats_are_refused():
    with pytest.raises(OrchqError):
        orchq.export_knowledge(format="csv")
