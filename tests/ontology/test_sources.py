"""Who wants to read what stands behind a limit can open it, or is told why not."""

import json

import pytest
from rdflib import RDF, RDFS, Namespace, URIRef

import orchq
from orchq.knowledge.model import Source

OQ = Namespace("https://w3id.org/orchq/")


def test_every_source_opens_or_says_why_not(ontology):
    for source in ontology.subjects(RDF.type, OQ.Source):
        addresses = list(ontology.objects(source, RDFS.seeAlso))
        reasons = list(ontology.objects(source, OQ.whyNoAddress))
        assert (len(addresses) == 1) != (len(reasons) == 1), source
        assert all(isinstance(address, URIRef) for address in addresses)
        if pages := ontology.value(source, OQ.hasPagesFrom):
            assert str(addresses[0]).startswith(str(pages)), source


@pytest.mark.parametrize(
    ("address", "pages", "locator", "opened"),
    [
        ("https://a.org/b", "", "page 3", "https://a.org/b"),
        ("https://a.org/b", "https://a.org/p/", "djvu/62", "https://a.org/p/62"),
        ("https://a.org/b", "https://a.org/p/", "djvu/8-9", "https://a.org/p/8"),
        ("https://a.org/b", "https://a.org/p/", "the preface", "https://a.org/b"),
        ("javascript:alert(1)", "", "", ""),
        ("", "javascript:", "djvu/1", ""),
        ("", "", "djvu/62", ""),
    ],
)
def test_a_place_is_opened_where_the_source_is_paged(address, pages, locator, opened):
    source = Source("x:s", "s", "S", "S", address=address, pages=pages)
    assert source.opened_at(locator) == opened


def test_reports_link_to_the_page(tmp_path):
    path = tmp_path / "passage.ttl"
    path.write_text(
        """
        @prefix oq: <https://w3id.org/orchq/> .
        @prefix my: <https://example.org/passage#> .
        my:part a oq:Part ; oq:forInstrument oq:violin ; oq:isSection true ; oq:hasEvent my:e .
        my:e a oq:Event ; oq:measureIndex 0 ; oq:onset 0 ; oq:duration 1 ;
            oq:hasNote my:n ; oq:inState my:s .
        my:n a oq:Note ; oq:pitch "D6" .
        my:s a oq:PlayingState ; oq:usesTechnique oq:pizzicato .
        """,
        encoding="utf-8",
    )
    outcome = orchq.Project(advice=False).check(path)
    (file,) = json.loads(orchq.format_report(outcome, "json"))["files"]
    links = {e.get("link") for finding in file["findings"] for e in finding["evidence"]}
    assert any(link and link.endswith("symphonique.djvu/14") for link in links)
    assert 'symphonique.djvu/14" rel="noreferrer">' in orchq.format_report(outcome, "html")
