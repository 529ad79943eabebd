import re

import pytest
from lxml import html
from msgspec.structs import replace

import orchq
from orchq.errors import OrchqError, ReadError
from orchq.project import Outcome
from orchq.report import web
from orchq.report.engraved import engraving
from orchq.rules.finding import Accepted, Proposal
from orchq.score import Heading

from .conftest import QUARTET


@pytest.fixture(scope="module")
def demo(graph):
    return orchq.check(orchq.demo_path(), knowledge=graph)


@pytest.fixture(scope="module")
def demo_page(demo, page):
    return page(demo)


def text_of(page: str, path: str) -> str:
    found = html.fromstring(page).xpath(path)
    return " ".join(" ".join(" ".join(each.itertext()).split()) for each in found)


def cards(page: str) -> list[html.HtmlElement]:
    return html.fromstring(page).xpath("//article[@data-severity]")


def systems(page: str) -> list[html.HtmlElement]:
    return html.fromstring(page).xpath("//section[contains(@class, 'system')]")


@pytest.mark.long
def test_each_finding_stands_below_the_system_that_shows_its_note(demo_page):
    for system in systems(demo_page):
        shown = {card.get("id") for card in system.xpath(".//article")}
        marks = {mark.get("data-finding") for mark in system.xpath(".//*[local-name()='svg']//a")}
        assert shown == marks
        assert shown


def test_a_card_says_severity_place_authority_and_rule(demo, demo_page):
    found = [" ".join(card.text_content().split()) for card in cards(demo_page)]
    [spiccato] = [text for text in found if "dynamic-outside-envelope" in text]
    assert spiccato.startswith("▲ 5 warning Violins II, m. 36, beat 1: F#4 ")
    assert demo.findings[5 - 1].rule == "dynamic-outside-envelope"
    assert "common practice: Spiccato works from p to mp only." in spiccato


@pytest.mark.long
def test_the_head_says_what_when_and_for_whom(demo, page, monkeypatch):
    monkeypatch.setenv("SOURCE_DATE_EPOCH", "951782400")  # 29 February 2000, as date(1) has it
    headed = replace(demo, heading=Heading("A. Maker", "Lantern Street"))
    text = text_of(page(headed), "//header | //h2 | //p[@class='facts']")
    assert "Checked on 29 February 2000" in text
    assert "Lantern Street" in text
    assert "A. Maker; lantern-street.musicxml" in text
    assert "Judged for an orchestral section: Violins I, " in text
    monkeypatch.setenv("SOURCE_DATE_EPOCH", "yesterday")
    with pytest.raises(OrchqError, match="SOURCE_DATE_EPOCH"):
        page(demo)


@pytest.mark.long
def test_fingers_are_drawn_on_demand(demo, graph):
    outcome = Outcome((demo,), orchq.catalogue(graph), knowledge=graph)
    plain, fingered = (
        orchq.format_report(outcome, "html", fingering=wanted) for wanted in (False, True)
    )
    assert 'class="fing"' not in plain
    drawn = re.findall(r'class="fing".*?<tspan[^>]*>([A-G]?[0-4])<', fingered, re.DOTALL)
    assert len(drawn) > 100
    assert "3rd pos." in fingered
    assert "Players and teachers know better" in fingered


def test_advice_tells_whether_it_was_checked(demo, page):
    advised = replace(
        demo.findings[0], instead=(Proposal("write mf", True), Proposal("use the A string", False))
    )
    text = text_of(page(replace(demo, findings=(advised,))), "//article//dl")
    assert "write mf checked again: nothing found" in text
    assert "use the A string not checked" in text


def test_accepted_findings_stand_apart_with_their_reason(demo, page):
    first, *others = demo.findings
    report = replace(
        demo, findings=tuple(others), accepted=(Accepted(first, "as in the sketch", "excerpt"),)
    )
    made = page(report)
    assert len(cards(made)) == len(others)
    apart = text_of(made, "//section[@class='accepted']")
    assert "1 accepted finding" in apart
    assert "as in the sketch (excerpt)" in apart


@pytest.mark.long
def test_only_systems_with_findings_unless_all_are_asked_for(graph, page):
    report = orchq.check(QUARTET, knowledge=graph)
    some, every = systems(page(report)), systems(page(report, all_pages=True))
    assert 0 < len(some) < len(every)
    assert all(system.xpath(".//article") for system in some)
    assert len(html.tostring(every[0].getroottree())) < 3_000_000


@pytest.mark.long
def test_triples_get_a_table_of_the_events(graph, page):
    report = orchq.check(orchq.demo_path().with_suffix(".ttl"), knowledge=graph)
    made = page(report)
    assert not systems(made)
    rows = html.fromstring(made).xpath("//table/tbody/tr")
    assert {row.get("data-finding") for row in rows} == {card.get("id") for card in cards(made)}
    assert "Violins II m. 3, beat 4 Bb4" in text_of(made, "//table")


def test_a_file_without_findings_is_said_to_have_none(demo, page):
    assert "Nothing was found." in page(replace(demo, findings=()))


@pytest.mark.long
def test_several_files_are_sections_of_their_own(demo, page):
    made = page(demo, replace(demo, findings=demo.findings[:1]))
    names = [card.get("id") for card in cards(made)]
    assert len(names) == len(set(names)) == len(demo.findings) + 1
    identifiers = html.fromstring(made).xpath("//@id")
    assert len(identifiers) == len(set(identifiers))


def test_every_link_leads_somewhere(demo_page):
    root = html.fromstring(demo_page)
    named = set(root.xpath("//@id"))
    links = set(root.xpath("//@href"))
    assert {link.removeprefix("#") for link in links if link.startswith("#")} <= named
    # The others open a source, from an a element that nothing follows by itself.
    outward = {link for link in links if not link.startswith("#")}
    assert outward == {link for link in root.xpath("//a/@href") if link.startswith("https://")}


def test_the_same_report_makes_the_same_page(demo, demo_page, page):
    assert page(demo) == demo_page


@pytest.mark.long
def test_a_score_in_another_format_is_engraved_too(tmp_path, graph, page):
    path = tmp_path / "tune.abc"
    path.write_text('X:1\nT:t\nM:4/4\nL:1/4\nV:1 name="Violin"\nK:C\nF,GAB|\n', encoding="utf-8")
    made = page(orchq.check(path, knowledge=graph))
    assert systems(made)
    assert cards(made)


def test_a_score_that_crashes_the_engraver_is_reported_with_a_table(
    demo, page, monkeypatch, tmp_path
):
    script = tmp_path / "crash.py"
    script.write_text("import os; os.abort()", encoding="utf-8")
    monkeypatch.setattr(engraving, "_ENGRAVER", script)
    made = page(demo)
    assert "The score could not be engraved." in made
    assert len(html.fromstring(made).xpath("//table/tbody/tr")) == len(demo.findings)


def test_notes_without_a_head_are_labelled_at_the_stem_or_tabled(tmp_path, graph, page):
    # Three pitches are three causes, and so three findings.
    def note(step: str, last: str = "") -> str:
        pitch = f"<pitch><step>{step}</step><octave>3</octave></pitch>"
        return f"<note>{pitch}<duration>1</duration><type>quarter</type>{last}</note>"

    head = "<notehead>none</notehead>"
    path = tmp_path / "headless.musicxml"
    path.write_text(
        '<score-partwise><part-list><score-part id="P1"><part-name>Violin</part-name></score-part>'
        '</part-list><part id="P1"><measure number="1"><attributes><divisions>1</divisions>'
        f"</attributes>{note('F')}{note('E', head)}{note('D', '<stem>none</stem>' + head)}"
        "</measure></part>"
        "</score-partwise>",
        encoding="utf-8",
    )
    report = orchq.check(path, knowledge=graph, rules={"note-below-lowest-string"})
    root = html.fromstring(page(report))
    [table] = root.iterfind(".//table")
    drawn = {mark.get("data-finding") for mark in root.xpath("//*[local-name()='svg']//a")}
    tabled = {row.get("data-finding") for row in table.xpath("tbody/tr")}
    assert (drawn, tabled) == ({"f1-1", "f1-2"}, {"f1-3"})


def test_a_file_that_went_is_told(demo, page, tmp_path):
    with pytest.raises(ReadError, match="gone"):
        page(replace(demo, file=str(tmp_path / "gone.musicxml")))


def test_a_missing_library_is_told_with_the_command_that_installs_it(monkeypatch):
    monkeypatch.setattr(web, "find_spec", lambda name: None)
    with pytest.raises(OrchqError, match=r"pip install 'orchq\[report\]'"):
        web.check_installed()
