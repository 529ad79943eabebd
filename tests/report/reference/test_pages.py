"""The reference: complete, self-contained, its links whole, its anchors where redirects lead."""

import pytest
from lxml.html import fromstring
from msgspec.structs import replace

from orchq.knowledge.data_files import shipped_extensions
from orchq.lint.releases import Listed, present_terms
from orchq.questions import load_graph
from orchq.report.reference import reference_pages
from orchq.report.reference.glossary import glossary
from orchq.report.reference.term_links import TermLinks
from orchq.report.web import style_hash
from tests.report.reference.redirects import redirected

PAYLOAD = "<script>window.caught=1</script>\\\"'><img src=x onerror=alert(1)> {{ 7*7 }} \\u202eabc"
HOSTILE = f"""
@prefix oq: <https://w3id.org/orchq/> .
@prefix owl: <http://www.w3.org/2002/07/owl#> .
@prefix rdfs: <http://www.w3.org/2000/01/rdf-schema#> .
@prefix skos: <http://www.w3.org/2004/02/skos/core#> .
@prefix my: <https://example.org/my#> .

<https://example.org/my> a owl:Ontology ; rdfs:label "{PAYLOAD}"@en .
my:Rubbing a owl:Class ; rdfs:subClassOf oq:Technique ; skos:prefLabel "{PAYLOAD}"@en ;
    skos:definition "{PAYLOAD}"@en ; skos:example "{PAYLOAD}" ; skos:note "{PAYLOAD}"@en .
my:rub a my:Rubbing ; skos:prefLabel "{PAYLOAD}"@en ; oq:hasColour "{PAYLOAD}" .
my:word a oq:Term ; oq:names my:rub ; oq:hasForm "{PAYLOAD}"@it ; oq:hasBasis oq:common-practice .
my:source a oq:Source ; skos:prefLabel "{PAYLOAD}"@en .
my:limit a oq:Availability ; skos:prefLabel "{PAYLOAD}"@en ; oq:limitsTechnique my:rub ;
    oq:statement "{PAYLOAD}" ; oq:hasBasis oq:published ; oq:accordingTo my:source ;
    oq:locator "{PAYLOAD}" .
"""


def place(name: str) -> str:
    """The address of a term, as redirects answer for it, without the host."""
    prefix, _, local = name.partition(":")
    if prefix in ("oq", "rule"):
        return redirected("orchq", local if prefix == "oq" else f"rule/{local}")
    return f"{redirected('orchq-extensions', prefix)}#{local}"


@pytest.mark.long
def test_every_term_is_described_where_its_iri_leads(documents):
    anchors = {
        f"https://PAGES/{page}#{anchor}"
        for page, document in documents.items()
        for anchor in document.xpath("//@id")
    }
    names = present_terms()
    assert len(names) > 1900
    assert {name for name in names if place(name) not in anchors} == set()


@pytest.mark.long
def test_no_link_leads_nowhere_and_no_anchor_stands_twice(documents):
    for page, document in documents.items():
        ids = document.xpath("//@id")
        assert len(ids) == len(set(ids)), page
    targets = {
        f"{page}#{anchor}"
        for page, document in documents.items()
        for anchor in document.xpath("//@id")
    } | set(documents)
    for page, document in documents.items():
        for address in document.xpath("//@href"):
            if not address.startswith(("http://", "https://")):
                assert (page + address if address.startswith("#") else address) in targets, address


@pytest.mark.long
def test_the_pages_load_nothing_and_allow_only_themselves(documents):
    for document in documents.values():
        assert not document.xpath("//link|//img|//iframe|//@style|//@src|//@onclick")
        policy = document.xpath("string(//meta[@http-equiv]/@content)")
        assert "default-src 'none'" in policy
        for element in document.xpath("//style|//script"):
            assert f"'{style_hash(element.text)}'" in policy


@pytest.mark.long
def test_every_extension_has_its_page(documents):
    assert set(documents) == {
        *("index.html", "vocabulary.html", "rules.html", "glossary.html", "limits.html"),
        *(f"{name}.html" for name in shipped_extensions()),
    }
    assert documents["viola-d-amore.html"].xpath("string(//h1)") == "viola d'amore"


@pytest.mark.long
def test_a_term_is_told_with_its_neighbours_and_users(documents):
    (entry,) = documents["vocabulary.html"].xpath("//article[@id='hasColour']")
    lines = {
        head.text: head.getnext().text_content() for head in entry.xpath(".//dl[@class='lines']/dt")
    }
    assert lines["leads from"] == "technique"
    assert lines["leads to"] == "xsd:string"
    assert "orchq ask" in lines["questions that use it"]
    assert "since 0.1.0" in entry.text_content()
    assert "oq:hasColour " in entry.xpath("string(.//pre)")
    (kind,) = documents["vocabulary.html"].xpath("//article[@id='FrettedInstrument']")
    assert "stopped against: frets as stopping surface" in kind.text_content()
    assert "oq:stoppedAgainst oq:frets" in kind.xpath("string(.//pre)")


@pytest.mark.long
def test_every_rule_is_told_with_why_and_who(documents):
    rules = documents["rules.html"].xpath("//article")
    assert len(rules) == len([name for name in present_terms() if name.startswith("rule:")])
    for rule in rules:
        heads = rule.xpath(".//dt/text()")
        assert {"why", "instead", "wrong", "right", "who says so"} <= set(heads)
        assert rule.xpath("./details//a")  # folded: for those who write rules


def test_the_glossary_has_every_printed_form_in_its_language():
    graph = load_graph()
    printed = {
        (row["form"], row["language"])
        for row in graph.ask.select(
            "SELECT ?form ?language WHERE { ?t oq:hasForm|oq:hasPlural|oq:hasAbbreviation ?form "
            "BIND (LANG(?form) AS ?language) }"
        )
    }
    told = {
        (form.removesuffix(" (pl.)"), language)
        for chapter in glossary(graph, TermLinks(graph, {}))
        for named in chapter.named
        for language, terms in named.words.items()
        for words in terms
        for form in words.forms
    }
    assert told == printed


@pytest.mark.long
def test_sources_stand_with_what_they_state(documents):
    (berlioz,) = documents["limits.html"].xpath("//section[@aria-labelledby='by-berlioz']")
    row = berlioz.xpath(".//tr[@id='limit-compass-violin-berlioz']")[0]
    assert "djvu/" in row.text_content()
    assert "public domain" in berlioz.text_content()
    assert berlioz.xpath(".//dl//a/@href")[0].endswith("orchestration.djvu/11")
    for limit in load_graph().limits:
        assert documents["limits.html"].xpath(f"//tr[@id='{limit.iri.rpartition('/')[2]}']")


@pytest.mark.long
def test_the_history_tells_what_came_and_went(monkeypatch):
    term = Listed("Class", "00000000", deprecated=False)
    lists = {
        "0.1.0": {"oq:Instrument": term, "oq:Lyre": term},
        "0.2.0": {"oq:Instrument": replace(term, deprecated=True), "oq:String": term},
    }
    for module in ("reference_html", "vocabulary"):
        monkeypatch.setattr(f"orchq.report.reference.{module}.releases", lambda: lists)
    pages = reference_pages()
    (now, first) = fromstring(pages["index.html"]).xpath("//h3")
    assert now.text == "0.2.0: 2 terms"
    told = {head.text: head.getnext().text_content() for head in now.getparent().xpath(".//dt")}
    assert told == {"added": "oq:String", "deprecated": "oq:Instrument", "lost": "oq:Lyre"}
    assert first.text == "0.1.0: 2 terms"
    (entry,) = fromstring(pages["vocabulary.html"]).xpath("//article[@id='String']")
    assert "since 0.2.0" in entry.text_content()


@pytest.mark.long
def test_words_of_an_extension_stay_words(tmp_path):
    extension = tmp_path / "my.ttl"
    extension.write_text(HOSTILE, encoding="utf-8")
    pages = reference_pages([extension])
    for name in ("my.html", "index.html", "vocabulary.html", "glossary.html", "limits.html"):
        assert "<script>window" not in pages[name]
        assert "<img" not in pages[name]
        assert "\u202e" not in pages[name]
    assert pages["my.html"].count("{{ 7*7 }}") > 5
