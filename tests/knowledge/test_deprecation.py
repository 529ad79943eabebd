"""Deprecated terms are understood as what replaces them, and whoever writes them is told."""

import json

import pytest
from pyoxigraph import Literal, NamedNode, Quad

import orchq
from orchq.cli.app import main
from orchq.knowledge.deprecation import deprecated_terms, renewed
from orchq.knowledge.store import read_triples

OQ = "https://w3id.org/orchq/"
MY = "https://example.org/my#"
HEAD = f"""@prefix dcterms: <http://purl.org/dc/terms/> .
@prefix my: <{MY}> .
@prefix oq: <{OQ}> .
@prefix owl: <http://www.w3.org/2002/07/owl#> .
@prefix skos: <http://www.w3.org/2004/02/skos/core#> .
"""
OLD = f"""{HEAD}
my:bounced a oq:BowStroke ;
    skos:prefLabel "bounced"@en ;
    skos:definition "What is called spiccato now."@en ;
    oq:persists true ;
    owl:deprecated true ;
    dcterms:isReplacedBy oq:spiccato .
my:gone a oq:Effect ;
    skos:prefLabel "gone"@en ;
    skos:definition "What nobody writes any more."@en ;
    skos:note "It was never printed."@en ;
    oq:persists false ;
    owl:deprecated true .
"""
PIECE = f"""{HEAD}
my:piece a oq:Excerpt ; oq:hasPart my:violin .
my:violin a oq:Part ; oq:partName "Violin" ; oq:forInstrument oq:violin ; oq:hasEvent my:e .
my:e a oq:Event ; oq:measureIndex 0 ; oq:onset 0 ; oq:duration 1 ; oq:beat 1 ; oq:inState my:state ;
    oq:hasNote [ a oq:Note ; oq:pitch "A4" ] .
my:state a oq:PlayingState ; oq:usesTechnique my:bounced , my:gone ; oq:atDynamic oq:ff .
"""
USING = f"""{HEAD}
my:limit a oq:DynamicEnvelope ;
    skos:prefLabel "bounced"@en ;
    oq:limitsTechnique my:bounced ;
    oq:softest oq:p ;
    oq:loudest oq:mf ;
    oq:statement "It bounces from p to mf." ;
    oq:hasBasis oq:memory .
"""


@pytest.fixture
def write(tmp_path):
    def call(name, text):
        path = tmp_path / name
        path.write_text(text, encoding="utf-8")
        return path

    return call


def test_an_excerpt_is_read_with_the_successor_and_a_remark(write):
    graph = orchq.load([write("old.ttl", OLD)])
    assert graph.deprecated == {f"{MY}bounced": (f"{OQ}spiccato",), f"{MY}gone": ()}
    path = write("piece.ttl", PIECE)
    state = orchq.read(path, graph).parts[0].events[0].state
    assert state.techniques == {f"{OQ}spiccato", f"{MY}gone"}
    report = orchq.check(path, knowledge=graph, advice=False)
    assert len(report.remarks) == 2
    assert sum("oq:spiccato" in remark for remark in report.remarks) == 1
    assert "dynamic-outside-envelope" in {finding.rule for finding in report.findings}


def test_lint_warns_where_the_term_is_used_and_not_where_it_is_described(write, capfd):
    old, using = write("old.ttl", OLD), write("using.ttl", USING)
    main(["lint", str(old), str(using), "--format", "json"])
    files = {each["file"]: each["findings"] for each in json.loads(capfd.readouterr().out)["files"]}
    told = {each["rule"] for each in files[str(old)]}
    assert not told & {"deprecated-term", "undefined-term"}
    (told,) = (each for each in files[str(using)] if each["rule"] == "deprecated-term")
    assert told["severity"] == "warning"
    assert "oq:spiccato" in told["message"]
    assert using.read_text(encoding="utf-8").splitlines()[told["line"] - 1].endswith("my:bounced ;")


def test_an_extension_is_read_with_the_successor_of_a_term_of_the_core(write, monkeypatch):
    """The core has no deprecated term yet; this one is lent to it."""
    old, using = write("old.ttl", OLD), write("using.ttl", USING)
    core = [*orchq.load().quads, *read_triples(old)]
    quads, used = renewed(read_triples(using), deprecated_terms(core))
    assert used == (f"{MY}bounced",)
    assert NamedNode(f"{OQ}spiccato") in {quad.object for quad in quads}
    monkeypatch.setattr("orchq.knowledge.graph.core_files", lambda: [old])
    read = orchq.knowledge.read_graph([using])
    assert NamedNode(f"{MY}bounced") not in {quad.object for quad in read}


def test_what_is_stated_not_to_be_deprecated_is_not():
    said = Quad(
        NamedNode("urn:a"), NamedNode("http://www.w3.org/2002/07/owl#deprecated"), Literal(False)
    )
    assert deprecated_terms([said]) == {}
    assert renewed([said], {}) == ([said], ())
