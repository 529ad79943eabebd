"""Places in scores: what is found, in what order, and what is said when nothing is."""

import json
from itertools import pairwise
from pathlib import Path

import pytest

import orchq
from orchq.errors import OrchqError
from orchq.knowledge import read_graph
from orchq.questions import Graph, catalogue
from orchq.report.questions_page import ask_example

DEMO = Path(orchq.__file__).parent / "demo" / "lantern-street.ttl"

DYNAMICS = ["pppp", "ppp", "pp", "p", "mp", "mf", "f", "ff", "fff", "ffff"]


def composers(answers):
    return [answer.composer for answer in answers]


def test_what_is_asked_is_what_is_told(ask):
    found = ask.examples(technique="con sord.", at="ff", on="Bratsche")
    assert found.parameters["technique"] == "con sordino"
    assert found
    for answer in found:
        assert (answer.shows, answer.at) == ("con sordino", "ff")
        assert answer.place.measure_index >= 0
        assert answer.place.beat >= 1
        assert answer.players in ("solo", "section")


def test_the_data_set_is_named_with_version_and_licence(ask):
    [said] = {
        said for answer in ask.examples(technique="snap pizzicato") for said in answer.evidence
    }
    assert said.limit == "https://w3id.org/orchq/openscore-string-quartets"
    assert said.source == "OpenScore String Quartets"
    assert "2c723a5b" in said.locator
    assert "CC0" in said.statement
    assert said.basis == "attested"


def test_spelling_and_order_of_a_stop_do_not_count(ask):
    found = ask.examples(stop="G3 D4 Bb4 G5")
    assert found
    assert ask.examples(stop="79, A#4, D4-G3").answers == found.answers


@pytest.mark.parametrize(
    ("stop", "called"),
    [
        ("G3 D4", "double stop"),
        ("G3 D4 B4", "triple stop"),
        ("G3 D4 Bb4 G5", "quadruple stop"),
    ],
)
def test_a_stop_is_called_by_its_notes(ask, stop, called):
    shown = {answer.shows.partition(",")[0] for answer in ask.examples(stop=stop)}
    assert shown == {called}


def test_a_harmonic_by_pitch_or_by_kind(ask):
    by_pitch = ask.examples(harmonic="E6", limit=100)
    by_kind = ask.examples(harmonic="natural", limit=1000)
    assert {answer.shows for answer in by_pitch} <= {
        "natural harmonic E6",
        "artificial harmonic E6",
    }
    assert set(by_pitch) <= {*by_kind, *ask.examples(harmonic="artificial", limit=1000)}


def test_changes_within_a_time_are_all_that_are_as_quick(ask):
    every = ask.examples(change="pizz. to arco", limit=1000)
    quick = ask.examples(change="pizzicato, arco", within="1 s", limit=1000)
    assert set(quick) == {a for a in every if a.seconds is not None and a.seconds <= 1}
    assert len(quick) < len(every)
    assert {answer.tempo for answer in quick} <= {"marked", "assumed"}
    back = ask.examples(change="arco pizz.", limit=1000)
    assert not set(back) & set(every)


def test_composers_have_their_turn(ask):
    found = ask.examples(change="pizz. arco", limit=1000)
    many = len(set(composers(found)))
    assert len(set(composers(found[:many]))) == many
    for one, two in pairwise(a for a in found if a.composer == "Béla Bartók"):
        if one.file == two.file:
            assert one.seconds <= two.seconds


def test_one_composer_alone(ask):
    # By surname, with or without accents, or by the whole name.
    found = ask.examples(technique="pizz.", composer="bartok")
    assert set(composers(found)) == {"Béla Bartók"}
    assert ask.examples(technique="pizz.", composer="Béla Bartók").answers == found.answers
    with pytest.raises(OrchqError, match="no composer"):
        ask.examples(technique="pizz.", composer="Nobody")


def test_a_limit_and_what_is_left(ask):
    every = ask.examples(technique="pizz.", at="f", limit=1000)
    few = ask.examples(technique="pizz.", at="f", limit=2)
    assert few.answers == every.answers[:2]
    assert f"{len(every) - 2} more" in few.remarks[0]
    assert len(ask.examples(technique="pizz.", at="f")) == 10


def test_nothing_asked_says_what_to_ask(ask):
    for found in (ask.examples(), ask.examples(on="viola", composer="Haydn", within=1)):
        assert not found
        assert "--technique" in found.remarks[0]


@pytest.mark.long
def test_nothing_found_tells_what_is_nearest(ask):
    found = ask.examples(technique="con sordino", at="ffff", on="viola")
    assert not found
    [others] = [remark for remark in found.remarks if "at other dynamics" in remark]
    told = others.rstrip(".").partition(": ")[2].split(", ")
    assert told == sorted(told, key=DYNAMICS.index)
    for dynamic in told:
        assert ask.examples(technique="con sordino", at=dynamic, on="viola")


@pytest.mark.long
def test_a_stop_that_nobody_writes_has_the_nearest_beside_it(ask):
    found = ask.examples(stop="G3 D4 B4 C#6", on="violin")
    assert not found
    nearest = found.remarks[-1].partition(": ")[2].rstrip(".").split("; ")
    assert all(ask.examples(stop=chord, on="violin") for chord in nearest)


def test_what_no_score_asks_for_is_said_with_what_they_do(ask):
    found = ask.examples(technique="chop")
    assert not found
    assert "pizzicato" in found.remarks[-1]


@pytest.mark.parametrize(
    "given",
    [
        {"technique": "pizz.", "stop": "G3 D4"},
        {"stop": "G3"},
        {"change": "pizz."},
        {"change": "pizz. arco pizz."},
        {"harmonic": "sideways"},
        {"technique": "pizz.", "limit": "0"},
        {"technique": "pizz.", "within": "soon"},
    ],
)
def test_what_cannot_be_asked_is_refused(ask, given):
    with pytest.raises(OrchqError):
        ask.examples(**given)


def test_json_tells_the_place_in_numbers(ask):
    document = json.loads(json.dumps(ask.examples(harmonic="natural", limit=1).to_dict()))
    [answer] = document["answers"]
    assert set(answer["place"]) == {"part", "part_index", "measure", "measure_index", "beat"}
    assert answer["file"].endswith(".mxl")


@pytest.mark.long
def test_the_index_is_loaded_by_this_question_alone():
    graph = Graph(read_graph())
    orchq.check(DEMO, knowledge=graph)
    for question in catalogue():
        if question.name != "examples":
            ask_example(graph, question, question.examples[0].arguments)
    assert "places" not in vars(graph.ask)
    graph.ask.examples(stop="G3 D4")
    assert "places" in vars(graph.ask)
    assert not any("places/" in quad.subject.value for quad in graph.quads)
