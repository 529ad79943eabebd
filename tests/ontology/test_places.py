"""A fact lies in the file of what it is about, so that whoever looks for it opens one file."""

import pytest
from rdflib import RDF, RDFS, URIRef

OQ = "https://w3id.org/orchq/"


def _oq(name):
    return URIRef(OQ + name)


@pytest.fixture(scope="module")
def home(modules):
    """The module that describes each name."""
    return {node: name for name, graph in modules.items() for node in graph.subjects(RDF.type)}


@pytest.fixture(scope="module")
def limits(ontology, members, home):
    """The limits that people enter; those that are measured lie together."""
    found = {limit for limit in members("Limit") if not home[limit].startswith("measured/")}
    assert len(found) > 200
    return found


def test_an_instrument_has_one_file_of_its_name(ontology, home):
    for instrument in ontology.subjects(RDF.type, _oq("Instrument")):
        assert home[instrument] == f"instruments/{instrument.removeprefix(OQ)}"
        for tuning in ontology.objects(instrument, _oq("hasStandardTuning")):
            strings = set(ontology.objects(tuning, _oq("hasString")))
            assert {home[node] for node in (tuning, *strings)} == {home[instrument]}


def test_techniques_and_printed_words_have_folders(ontology, members, home):
    words = {home[each] for each in members("Directive") - members("Technique")}
    assert {home[each].partition("/")[0] for each in members("Technique")} == {"techniques"}
    assert {name.partition("/")[0] for name in words} == {"words"}


def test_a_word_lies_with_what_it_names(ontology, home):
    apart = {
        term: home[term]
        for term, named in ontology.subject_objects(_oq("names"))
        if home[term] != home[named]
    }
    assert apart == {}


@pytest.mark.parametrize("about", ["limitsTechnique", "onInstrument"])
def test_a_limit_lies_with_what_it_limits(ontology, limits, home, about):
    """With the technique before the instrument: who looks for spiccato finds all of it."""
    apart = {
        limit: home[limit]
        for limit, node in ontology.subject_objects(_oq(about))
        if limit in limits and home[limit] != home[node]
        if about == "limitsTechnique" or (limit, _oq("limitsTechnique"), None) not in ontology
    }
    assert apart == {}


def test_the_time_of_a_change_lies_with_a_way_of_playing_that_changes(ontology, limits, home):
    for limit in limits & set(ontology.subjects(RDF.type, _oq("ChangeTime"))):
        ends = {home[node] for name in ("changesFrom", "changesTo")
                for node in ontology.objects(limit, _oq(name))}  # fmt: skip
        assert home[limit] in ends or not ends, limit


def test_classes_and_properties_lie_in_the_vocabulary(ontology, home):
    defined = {*ontology.subjects(RDFS.domain), *ontology.subjects(RDFS.subClassOf)}
    named = {node for node in defined if isinstance(node, URIRef)}
    assert {home[node].partition("/")[0] for node in named} == {"vocabulary"}
