"""The JSON-LD context follows the vocabulary and is read as the JSON-LD standard says.

rdflib reads what is written with it. Run as a program, this file writes the context anew.
"""

import json

import pytest
from rdflib import Graph
from rdflib.compare import isomorphic

import orchq
from orchq.errors import ReadError, UnknownTermError
from orchq.knowledge.data_files import context_file, data_directory
from orchq.knowledge.jsonld import CONTEXT, context_of
from orchq.knowledge.store import load_files, read_triples
from orchq.rules.checking import structure_files
from orchq.terms import SH, XSD

PASSAGE = {
    "@context": [CONTEXT, {"my": "https://example.org/my#"}],
    "@graph": [
        {"id": "my:x", "type": "Excerpt", "hasPart": "my:v"},
        {
            "id": "my:v",
            "type": "Part",
            "partName": "Violas",
            "forInstrument": "viola",
            "isSection": True,
            "hasEvent": ["my:e"],
        },
        {
            "id": "my:e",
            "type": "Event",
            "measureIndex": 0,
            "onset": 0.5,
            "duration": "1",
            "hasNote": {"id": "#n", "type": "Note", "pitch": "B2"},
            "inState": {"type": "PlayingState", "usesTechnique": "spiccato", "atDynamic": "ff"},
        },
    ],
}


def present():
    """The context as the graph and the structure shapes have it now."""
    shapes = load_files(structure_files())
    classes = {quad.object.value for quad in shapes if quad.predicate.value == SH + "targetClass"}
    files = sorted((data_directory("ontology") / "vocabulary").glob("*.ttl"))
    return {"@context": context_of((q for file in files for q in read_triples(file)), classes)}


def in_words(context):
    return json.dumps(context, indent=2) + "\n"


def test_the_context_is_up_to_date():
    assert context_file().read_text(encoding="utf-8") == in_words(present()), (
        "python tests/knowledge/test_context.py renews it"
    )


def test_every_key_is_a_property_with_the_kind_of_its_values(ontology_ranges):
    context = present()["@context"]
    for name, kind in ontology_ranges.items():
        if kind.startswith(XSD) and kind != XSD + "string":
            assert context[name]["@type"] == "xsd:" + kind.removeprefix(XSD)


@pytest.fixture(scope="module")
def ontology_ranges():
    query = "SELECT ?p ?r { ?p a owl:DatatypeProperty ; rdfs:range ?r . FILTER (isIRI(?r)) }"
    rows = orchq.load().ask.select(query)
    found = {row["p"].rpartition("/")[2]: row["r"] for row in rows}
    assert len(found) > 50
    return found


def test_compact_triples_are_those_of_other_formats():
    """By the reader of rdflib."""
    compact = orchq.export(orchq.demo_path(), format="jsonld")
    data = json.loads(compact)
    assert data["@context"]["onset"] == {"@id": "oq:onset", "@type": "xsd:decimal"}
    event = next(node for node in data["@graph"] if node["type"] == "Event")
    assert event["id"].startswith("score:P1")
    assert isinstance(event["measureIndex"], int)
    plain = orchq.export(orchq.demo_path(), format="nt")
    assert isomorphic(
        Graph().parse(data=compact, format="json-ld"), Graph().parse(data=plain, format="nt")
    )


@pytest.fixture
def passage(tmp_path):
    path = tmp_path / "passage.jsonld"

    def write(document=PASSAGE):
        path.write_text(json.dumps(document, indent=1), encoding="utf-8")
        return path

    return write


def test_a_document_names_the_context_and_bare_words(passage):
    report = orchq.check(passage(), advice=False)
    assert "note-below-lowest-string" in {each.rule for each in report.findings}
    (event,) = orchq.read(passage()).parts[0].events
    assert (event.iri, float(event.onset)) == ("https://example.org/my#e", 0.5)
    assert event.notes[0].iri.startswith("ni:///sha-256-96;")


def test_a_misspelt_word_is_found_with_its_line(passage):
    path = passage()
    path.write_text(path.read_text(encoding="utf-8").replace('"spiccato"', '"spicato"'))
    with pytest.raises(UnknownTermError, match=r"passage.jsonld:\d+: .*did you mean oq:spiccato"):
        orchq.check(path)


@pytest.mark.parametrize(
    ("text", "message"),
    [
        ('{"@context": "https://example.org/context.jsonld"}', "remote"),
        ('{"id": "x"}', "@context"),
        ("{", "passage"),
        ("@prefix oq: <https://w3id.org/orchq/> .", "Turtle ends in"),
    ],
)
def test_what_is_no_document_is_refused(passage, text, message):
    path = passage()
    path.write_text(text, encoding="utf-8")
    with pytest.raises(ReadError, match=message):
        orchq.read(path)


if __name__ == "__main__":
    context_file().write_text(in_words(present()), encoding="utf-8")
