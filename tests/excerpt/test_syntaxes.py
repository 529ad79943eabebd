"""Excerpts and extensions in every syntax of RDF, written by rdflib; names that hold no path."""

import shutil
from pathlib import Path

import pytest
from rdflib import Dataset, Graph

import orchq
from orchq.cli.app import main
from orchq.errors import OrchqError, ReadError
from orchq.inputs import content_name

TURTLE = """
@prefix oq: <https://w3id.org/orchq/> .
@prefix my: <https://example.org/my#> .
my:x a oq:Excerpt ; oq:hasPart my:v .
my:v a oq:Part ; oq:partName "Violas" ; oq:forInstrument oq:viola ; oq:hasEvent my:e .
my:e a oq:Event ; oq:measureIndex 0 ; oq:onset 0.5 ; oq:duration 1 ; oq:hasNote my:n .
my:n a oq:Note ; oq:pitch "B2" .
"""
LUTE = """
@prefix oq: <https://w3id.org/orchq/> .
@prefix my: <https://example.org/lute#> .
@prefix skos: <http://www.w3.org/2004/02/skos/core#> .
my:rub a oq:BowStroke ; skos:prefLabel "rub"@en ; skos:definition "Rubbed."@en .
"""
SYNTAXES = {
    ".ttl": "turtle",
    ".nt": "nt",
    ".n3": "n3",
    ".rdf": "xml",
    ".owl": "xml",
    ".xml": "xml",
    ".jsonld": "json-ld",
    ".json": "json-ld",
    ".trig": "trig",
    ".nq": "nquads",
}
RDF_XML = '<rdf:RDF xmlns:rdf="http://www.w3.org/1999/02/22-rdf-syntax-ns#"/>'
LAUGHS = f"""<?xml version="1.0"?>
<!DOCTYPE rdf:RDF [ <!ENTITY a "aaaaaaaaaa"> <!ENTITY b "{"&a;" * 10}"> ]>
{RDF_XML}
"""


def write(turtle, folder, ending):
    graph = Graph().parse(data=turtle, format="turtle")
    if ending in (".trig", ".nq"):
        named = Dataset()
        named.graph("https://example.org/graph").parse(data=turtle, format="turtle")
        graph = named
    path = folder / f"it{ending}"
    path.write_text(graph.serialize(format=SYNTAXES[ending]), encoding="utf-8")
    return path


@pytest.mark.parametrize("ending", SYNTAXES)
def test_an_excerpt_is_read_in_every_syntax(ending, tmp_path):
    (part,) = orchq.read(write(TURTLE, tmp_path, ending)).parts
    (event,) = part.events
    assert (part.name, event.iri, float(event.onset)) == (
        *("Violas", "https://example.org/my#e"),
        0.5,
    )
    assert event.notes[0].pitch.name == "B2"


@pytest.mark.parametrize("ending", sorted(SYNTAXES.keys() - {".xml"}))
def test_an_extension_is_read_in_every_syntax(ending, tmp_path):
    graph = orchq.load([write(LUTE, tmp_path, ending)])
    assert "https://example.org/lute#rub" in graph.techniques


def test_a_folder_may_hold_them(tmp_path):
    write(LUTE, tmp_path, ".rdf")
    assert "https://example.org/lute#rub" in orchq.load([tmp_path]).techniques


def test_an_ontology_in_turtle_may_end_in_owl(tmp_path):
    path = tmp_path / "it.owl"
    path.write_text(TURTLE, encoding="utf-8")
    assert orchq.read(path).parts


@pytest.mark.parametrize(
    ("ending", "text", "message"),
    [
        (".rdf", LAUGHS, "document type"),
        (".owl", LAUGHS, "document type"),
        (".owl", '<?xml version="1.0"?><Ontology/>', "OWL/XML is not read"),
        (".ttl", f'<?xml version="1.0"?>{RDF_XML}', r"RDF/XML ends in \.rdf"),
        (".rdf", TURTLE, r"Turtle ends in \.ttl"),
        (".n3", "@prefix : <urn:x:> . { :a :b :c } => { :a :d :c } .", "formulas"),
        (".trig", "{ <a> <b> ", r"it\.trig"),
        (".xls", "", r"for triples: \.json, \.jsonld, \.n3"),
    ],
)
def test_what_is_not_read_is_named(ending, text, message, tmp_path):
    path = tmp_path / f"it{ending}"
    path.write_text(text, encoding="utf-8")
    with pytest.raises(ReadError, match=message):
        orchq.read(path)


@pytest.mark.parametrize("ending", [".rdf", ".jsonld"])
def test_a_fault_has_a_line_in_other_syntaxes(ending, tmp_path):
    path = write(TURTLE.replace('"B2"', '"H2"'), tmp_path, ending)
    with pytest.raises(ReadError, match=rf"it\{ending}:\d+: "):
        orchq.read(path)


def test_two_scores_of_one_name_have_names_of_their_own(tmp_path):
    first, second = tmp_path / "a" / "score.musicxml", tmp_path / "b" / "score.musicxml"
    for path in (first, second):
        path.parent.mkdir()
        shutil.copy(orchq.demo_path(), path)
    assert orchq.read(first).iri == orchq.read(second).iri == content_name(first)
    second.write_bytes(second.read_bytes() + b"\n")
    assert orchq.read(first).iri != orchq.read(second).iri


def test_names_hold_no_path(tmp_path):
    path = tmp_path / "it.ttl"
    text = TURTLE
    for name in ("x", "v", "e", "n"):
        text = text.replace(f"my:{name}", f"<#{name}>")
    path.write_text(text, encoding="utf-8")
    triples = orchq.export(path, format="nt")
    assert f"<{content_name(path)}#e>" in triples
    assert str(tmp_path) not in triples
    assert "file:" not in triples


@pytest.mark.long
def test_names_may_begin_with_an_iri_of_ones_own(tmp_path, capsys):
    out = tmp_path / "it.ttl"
    base = "https://example.org/op-18"
    assert main(["export", str(orchq.demo_path()), "--base", base, "-o", str(out)]) == 0
    graph = orchq.load()
    assert {part.iri.partition("#")[0] for part in orchq.read(out, graph).parts} == {base}
    assert "ni:///" not in out.read_text(encoding="utf-8")
    names = {each.event.partition("#")[2] for each in orchq.check(out, knowledge=graph).findings}
    assert names == {
        each.event.partition("#")[2]
        for each in orchq.check(orchq.demo_path(), knowledge=graph).findings
    }


@pytest.mark.parametrize("base", ["not an IRI", "https://w3id.org/orchq/mine"])
def test_a_base_that_is_none_is_refused(base):
    with pytest.raises(OrchqError, match="IRI"):
        orchq.export(orchq.demo_path(), base=base)


def test_the_demo_in_triples_is_named_by_its_score():
    triples = Path(orchq.demo_path()).with_suffix(".ttl").read_text(encoding="utf-8")
    assert content_name(orchq.demo_path()) in triples
