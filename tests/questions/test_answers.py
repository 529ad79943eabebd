"""Answers as values, as JSON, as HTML and as a DataFrame."""

import json
import sys
from html.parser import HTMLParser

import pytest

import orchq
from orchq.errors import OrchqError
from orchq.knowledge import load
from orchq.questions import Ask, Graph

EXTENSION = """\
@prefix oq: <https://w3id.org/orchq/> .
@prefix skos: <http://www.w3.org/2004/02/skos/core#> .
@prefix my: <https://example.org/my#> .

my:fiddle a oq:Instrument ;
    skos:prefLabel "<b>fiddle</b> & bow"@en ;
    oq:belongsToFamily oq:bowed-strings ;
    oq:hasStandardTuning my:tuning ;
    oq:soundsOctavesAbove 0 .

my:tuning a oq:Tuning ;
    skos:prefLabel "tuning of the fiddle"@en ;
    oq:hasString my:string-1 , my:string-2 ;
    oq:hasBasis oq:common-practice .

my:string-1 a oq:String ; oq:stringNumber 1 ; oq:openPitch "A4" .
my:string-2 a oq:String ; oq:stringNumber 2 ; oq:openPitch "D4" .
"""


@pytest.fixture(scope="module")
def extended(tmp_path_factory):
    path = tmp_path_factory.mktemp("extension") / "fiddle.ttl"
    path.write_text(EXTENSION, encoding="utf-8")
    return orchq.load([path])


def test_load_gives_the_questions(graph):
    assert isinstance(graph, Graph)
    assert graph.ask is graph.ask


def test_a_question_by_name_and_by_function_are_the_same(graph, ask):
    by_name = orchq.ask("changes", **{"from": "arco", "to": "pizz."})
    assert by_name == ask.changes(from_="arco", to="pizz.")
    assert orchq.ask("changes", graph, from_="arco", to="pizz.") == by_name


def test_plain_knowledge_can_be_asked_too():
    assert orchq.ask("levels", load()).question == "levels"


def test_answers_are_a_sequence_of_frozen_values(ask):
    found = ask.dynamics(on="violin", technique="spiccato")
    assert len(found) == 2
    assert found[0] is next(iter(found))
    assert found[:1] == (found[0],)
    with pytest.raises(AttributeError):
        found[0].softest = "pppp"
    assert repr(found) == "<2 answers to dynamics(on='violin', technique='spiccato')>"


def test_json_has_the_agreed_shape(ask):
    document = json.loads(json.dumps(ask.techniques(on="violin", at="ff").to_dict()))
    assert set(document) == {"question", "parameters", "answers"}
    assert document["question"] == "techniques"
    assert document["parameters"] == {"on": "violin", "at": "ff"}
    for answer in document["answers"]:
        assert set(answer) >= {"technique", "softest", "loudest", "verdict", "evidence"}
        assert all(
            set(said) >= {"limit", "source", "locator", "basis"} for said in answer["evidence"]
        )


def test_stops_hold_a_grade_and_a_fingering(ask):
    (answer,) = ask.stops(on="violin", pitches="G3 D4 B4").to_dict()["answers"]
    for manner in ("struck", "broken"):
        assert answer[manner]["grade"] == "easy"
        assert [place["pitch"] for place in answer[manner]["fingering"]] == ["G3", "D4", "B4"]
        assert [place["string"] for place in answer[manner]["fingering"]] == [4, 3, 2]


class Tags(HTMLParser):
    def __init__(self):
        super().__init__()
        self.open, self.seen = [], set()

    def handle_starttag(self, tag, attrs):
        self.open.append(tag)
        self.seen.add(tag)

    def handle_endtag(self, tag):
        assert self.open.pop() == tag


def test_html_is_well_formed_and_escaped(extended):
    found = extended.ask.players(pitch="B4", technique="arco")
    html = found._repr_html_()
    tags = Tags()
    tags.feed(html)
    assert tags.open == []
    assert "b" not in tags.seen
    assert "&lt;b&gt;fiddle&lt;/b&gt; &amp; bow" in html


def test_an_instrument_of_an_extension_is_asked_about(extended):
    # It has strings and no hand: what can be told is told.
    name = "https://example.org/my#fiddle"
    found = extended.ask.strings(on=name, pitch="B4")
    assert [(answer.string, answer.semitones) for answer in found] == [("A", 2), ("D", 9)]
    assert all(answer.grade is None and answer.evidence for answer in found)
    assert extended.ask.techniques(on=name, at="ff")
    assert not extended.ask.compass(on=name)


def test_a_dataframe_needs_pandas(ask, monkeypatch):
    monkeypatch.setitem(sys.modules, "pandas", None)
    with pytest.raises(OrchqError, match="pandas"):
        ask.levels().to_dataframe()


def test_a_dataframe_has_a_row_for_each_answer(ask, monkeypatch):
    class Pandas:
        @staticmethod
        def DataFrame(rows, columns):  # noqa: N802 - as pandas names it
            return rows, columns

    monkeypatch.setitem(sys.modules, "pandas", Pandas)
    rows, columns = ask.divisi(players=14, into=3).to_dataframe()
    assert rows[0]["lines"] == [5, 5, 4]
    assert set(columns) == set(rows[0])


def test_one_store_serves_all_questions(graph):
    asking = Ask(graph)
    assert asking.store is asking.store
