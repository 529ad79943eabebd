"""The page itself: what it tells of little, names in other languages, hostile words, staves."""

import re
from itertools import pairwise

import pytest
from lxml.html import HtmlElement, fromstring

from orchq.errors import OrchqError
from orchq.questions import load_graph
from orchq.report.sheet import instrument_sheet

from .conftest import INSTRUMENTS

PREFIXES = """
@prefix oq: <https://w3id.org/orchq/> .
@prefix skos: <http://www.w3.org/2004/02/skos/core#> .
@prefix my: <https://example.org/my#> .
"""
PAYLOAD = "<script>window.caught=1</script>\\\"'><img src=x onerror=alert(1)> {{ 7*7 }} \\u202eabc"
HOSTILE = f"""{PREFIXES}
my:rebec a oq:Instrument ;
    skos:prefLabel "{PAYLOAD}"@en ;
    oq:belongsToFamily oq:bowed-strings ;
    oq:hasStandardTuning my:tuning ;
    oq:readsClef "G2" , "{PAYLOAD}" ;
    oq:hasRegister my:register ;
    oq:soundsOctavesAbove 0 .
my:tuning a oq:Tuning ; skos:prefLabel "{PAYLOAD}"@en ; oq:hasString my:string ;
    oq:hasBasis oq:published ; oq:accordingTo my:source ; oq:locator "{PAYLOAD}" .
my:string a oq:String ; oq:stringNumber 1 ; oq:openPitch "D4" ; skos:prefLabel "{PAYLOAD}"@en .
my:source a oq:Source ; skos:prefLabel "{PAYLOAD}"@en .
my:register a oq:Register ; skos:prefLabel "{PAYLOAD}"@en ; oq:hasCharacter "{PAYLOAD}" ;
    oq:lowestPitch "D4" ; oq:hasBasis oq:memory .
my:name a oq:Term ; oq:names my:rebec ; oq:hasForm "rebec"@en , "{PAYLOAD}"@it ;
    oq:hasBasis oq:common-practice .
"""
BARE = f"""{PREFIXES}
my:rebec a oq:Instrument ; skos:prefLabel "rebec"@en ; oq:belongsToFamily my:plucked ;
    oq:hasStandardTuning my:tuning ; oq:soundsOctavesAbove 0 .
my:tuning a oq:Tuning ; skos:prefLabel "rebec tuning"@en ; oq:hasString my:string .
my:string a oq:String ; oq:stringNumber 1 ; oq:openPitch "D4" ; skos:prefLabel "D string"@en .
"""


@pytest.fixture
def own(tmp_path):
    """The sheet of the rebec of an extension."""

    def make(turtle: str) -> HtmlElement:
        extension = tmp_path / "rebec.ttl"
        extension.write_text(turtle, encoding="utf-8")
        return fromstring(instrument_sheet(load_graph([extension]), "rebec"))

    return make


@pytest.mark.long
def test_words_of_an_extension_stay_words(own):
    document = own(HOSTILE)
    assert not document.xpath("//script|//img|//*[@onerror]|//iframe|//link")
    text = document.text_content()
    assert "<script>window.caught=1</script>" in text
    assert "{{ 7*7 }}" in text
    assert "\u202e" not in text
    assert document.xpath("//table[@id='tunings']//*[@href='#E0A2-0.72']")


@pytest.mark.long
def test_what_an_instrument_lacks_is_said(own):
    document = own(BARE)
    missing = {each.get("id") for each in document.find_class("missing")}
    assert {
        "lengths",
        "compass",
        "ceilings",
        "registers",
        "envelopes",
        "harmonics",
        "stops",
        "bow",
    } <= missing
    assert "None" not in document.text_content()
    assert document.xpath("string(//table[@id='tunings']//td)") == "D4"


@pytest.mark.long
@pytest.mark.parametrize("name", ["Geige", "violon", "Violino", "Vl."])
def test_names_in_other_languages(sheet, name):
    assert instrument_sheet(load_graph(), name) == sheet("violin")


@pytest.mark.long
def test_the_level_and_the_authority_change_the_page(sheet):
    assert "For students" in instrument_sheet(load_graph(), "violin", level="student")
    trusting = instrument_sheet(load_graph(), "viola", trust="berlioz")
    assert "following berlioz" in trusting
    with pytest.raises(OrchqError):
        instrument_sheet(load_graph(), "viola", level="angel")


@pytest.mark.parametrize("slug", INSTRUMENTS)
def test_the_page_fetches_and_runs_nothing(sheet, slug):
    document = fromstring(sheet(slug))
    assert not document.xpath("//script|//link|//img|//@style")
    addresses = document.xpath("//@href|//@src")
    names = {f"#{name}" for name in document.xpath("//@id")}
    assert set(addresses) <= names
    assert len(document.xpath("//@id")) == len(set(document.xpath("//@id")))
    assert "default-src 'none'" in document.xpath("string(//meta[@http-equiv]/@content)")


@pytest.mark.parametrize(("slug", "steps"), [("violin", 4), ("double-bass", 3)])
def test_open_strings_stand_a_fifth_or_a_fourth_apart(sheet, slug, steps):
    document = fromstring(sheet(slug))
    heads = document.xpath("(//table[@id='tunings']//tbody/tr)[1]//use[contains(@href, 'E0A2')]")
    lines = document.xpath("string((//table[@id='tunings']//tbody/tr)[1]//path/@d)")
    first, second = map(int, re.findall(r"M\d+ (\d+)", lines)[:2])
    half = (second - first) / 2
    heights = [int(head.get("y")) for head in heads]
    assert [(low - high) / half for low, high in pairwise(heights)] == [steps] * 3


def test_a_clef_is_changed_where_players_change_it(sheet):
    document = fromstring(sheet("cello"))
    row = document.xpath("//table[@id='compass']//tbody/tr")[0]
    signs = [use.get("href")[1:5] for use in row.xpath(".//use")]
    # SMuFL: F clef, whole note, small G clef, whole note.
    assert signs == ["E062", "E0A2", "E07A", "E0A2"]


def test_words_for_sound_stand_with_what_sounds_so(sheet):
    # Common practice: the viola's C string is its dark one; a bow on the tailpiece only hums.
    rows = {
        cells[0]: cells[1:]
        for row in fromstring(sheet("viola")).xpath("//table[@id='colours']//tr")
        if (cells := [each.text_content().strip() for each in row])
    }
    assert rows["dark"][0].startswith("C string of the viola")
    assert "tailpiece" not in rows["dark"][0]
    assert rows["dark"][1] == "bright"
