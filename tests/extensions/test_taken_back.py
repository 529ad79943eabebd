"""An instrument takes back what its family has: an erhu, in a file of its own."""

from pathlib import Path

import lxml.html
import pytest

import orchq
from orchq.knowledge import Knowledge
from orchq.report.sheet import instrument_sheet

ERHU = Path(__file__).parent / "erhu.ttl"
PASSAGE = """
@prefix oq: <https://w3id.org/orchq/> .
@prefix erhu: <https://example.org/erhu#> .
@prefix my: <https://example.org/passage#> .

my:part a oq:Part ; oq:partName "Erhu" ; oq:forInstrument %s ; oq:isSection false ;
    oq:hasEvent my:double , my:snapped , my:plucked .
my:double a oq:Event ; oq:measureIndex 0 ; oq:onset 0 ; oq:duration 1 ;
    oq:hasNote my:d4 , my:a4 ; oq:inState my:bowed .
my:d4 a oq:Note ; oq:pitch "D4" .
my:a4 a oq:Note ; oq:pitch "A4" .
my:snapped a oq:Event ; oq:measureIndex 1 ; oq:onset 4 ; oq:duration 1 ;
    oq:hasNote my:e4 ; oq:inState my:snap .
my:e4 a oq:Note ; oq:pitch "E4" .
my:plucked a oq:Event ; oq:measureIndex 2 ; oq:onset 8 ; oq:duration 1 ;
    oq:hasNote my:d5 ; oq:inState my:pizz .
my:d5 a oq:Note ; oq:pitch "D5" .
my:bowed a oq:PlayingState ; oq:usesTechnique oq:arco ; oq:atDynamic oq:mf .
my:snap a oq:PlayingState ; oq:usesTechnique oq:snap-pizzicato ; oq:atDynamic oq:mf .
my:pizz a oq:PlayingState ; oq:usesTechnique oq:pizzicato ; oq:atDynamic oq:mf .
"""


@pytest.fixture(scope="module")
def with_erhu():
    return orchq.load([ERHU])


@pytest.fixture
def found(with_erhu, tmp_path):
    def of(instrument):
        path = tmp_path / "passage.ttl"
        path.write_text(PASSAGE % instrument, encoding="utf-8")
        report = orchq.check(path, knowledge=with_erhu, advice=False)
        return {(f.event.partition("#")[2], f.rule, f.severity): f.message for f in report.findings}

    return of


@pytest.mark.long
def test_lint_finds_nothing(run):
    assert run("lint", ERHU) == 0


@pytest.fixture
def run(capsys):
    from orchq.cli.app import main  # noqa: PLC0415 - the command line, for one test

    return lambda *words: main([str(word) for word in words])


def test_rules_allow_neither_the_snap_nor_two_strings_at_once(found):
    messages = found("erhu:erhu")
    assert set(messages) == {
        ("double", "stop-impossible", "violation"),
        ("snapped", "technique-not-on-instrument", "violation"),
    }
    assert "one string at a time" in messages["double", "stop-impossible", "violation"]


def test_the_violin_is_as_before(found):
    assert not found("oq:violin")


def test_questions_follow(with_erhu):
    ask = with_erhu.ask
    allowed = {answer.technique for answer in ask.techniques(on="erhu", at="mf")}
    violin = {answer.technique for answer in ask.techniques(on="violin", at="mf")}
    assert "snap pizzicato" in violin - allowed
    assert {"pizzicato", "arco", "sul ponticello"} <= allowed
    assert not ask.dynamics(on="erhu", technique="snap pizzicato")
    (stop,) = ask.stops(on="erhu", pitches="D4 A4")
    assert stop.struck.grade == "impossible"
    (stop,) = ask.stops(on="violin", pitches="D4 A4")
    assert stop.struck.grade == "easy"


@pytest.mark.long
def test_the_sheet_follows(with_erhu):
    """No row is about it; what is said of printing in general may name it."""

    def rows(instrument):
        page = lxml.html.fromstring(instrument_sheet(with_erhu, instrument))
        return {head.text_content() for head in page.xpath("//tr/th[@scope='row']")}

    assert "snap pizzicato" in rows("violin") - rows("erhu")


def test_the_graph_says_what_is_offered(with_erhu: Knowledge):
    offered = {
        quad.object.value.rpartition("/")[2]
        for quad in with_erhu.quads
        if quad.predicate.value.endswith("/offersTechnique")
        and quad.subject.value.endswith("#erhu")
    }
    assert "snap-pizzicato" not in offered
    assert {"pizzicato", "spiccato"} <= offered
