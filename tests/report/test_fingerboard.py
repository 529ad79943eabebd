"""Fingerboards hold what the answer says, where the string is stopped, and nothing that runs."""

import pytest
from lxml import etree

import orchq
from orchq.derive.hand import hand_model
from orchq.errors import OrchqError
from orchq.report.fingerboard import BoardNote, BoardPicture, fingerboard_svg
from orchq.report.plots import plot_svg

SVG = "{http://www.w3.org/2000/svg}"


@pytest.fixture(scope="module")
def graph():
    return orchq.load()


@pytest.fixture(scope="module")
def violin(graph):
    return graph.ask.names.instrument("violin")


def texts(svg):
    return ["".join(each.itertext()) for each in etree.fromstring(svg.encode()).iter(f"{SVG}text")]


def dots(svg):
    circles = etree.fromstring(svg.encode()).iter(f"{SVG}circle")
    return [(float(each.get("cx")), float(each.get("cy"))) for each in circles]


def test_a_stop_is_drawn_with_its_fingers(graph):
    answers = graph.ask.stops(on="violin", pitches="G3 D4 B4 G5")
    svg = plot_svg(answers, graph)
    said = texts(svg)
    assert {"G3", "D4", "B4", "G5"} <= set(said)
    grip = answers[0].struck
    assert sorted(note.finger or "0" for note in grip.fingering) == sorted(
        word for word in said if word in {"0", "1", "2", "3", "4"}
    )


def test_each_fingering_of_a_line_has_a_board(graph):
    answers = graph.ask.fingering(on="cello", notes="C2 E2 G2 C3")
    svg = plot_svg(answers, graph)
    assert len(dots(svg)) == 4 * len(answers)
    assert texts(svg).count("3: G2") == len(answers)


def test_an_octave_lies_at_half_the_string(graph, violin):
    """Mersenne's law: the octave halves the string, two octaves leave a quarter of it."""
    model = hand_model(graph.ask.knowledge, violin)
    places = [BoardNote(1, 12, "E6", "1"), BoardNote(1, 24, "E7", "4")]
    svg = fingerboard_svg(model, violin.standard.strings, [BoardPicture("", places)], "two octaves")
    nut = 64
    (one, _), (two, _) = dots(svg)
    assert (two - nut) / (one - nut) == pytest.approx(1.5, abs=0.01)


def test_words_of_others_are_text(graph, violin):
    model = hand_model(graph.ask.knowledge, violin)
    evil = '<script>alert(1)</script>"&'
    picture = BoardPicture(evil, [BoardNote(2, 0, evil)])
    svg = fingerboard_svg(model, violin.standard.strings, [picture], evil)
    assert not list(etree.fromstring(svg.encode()).iter(f"{SVG}script"))
    assert "style" not in svg


def test_what_no_hand_takes_is_not_drawn(graph):
    answers = graph.ask.stops(on="violin", pitches="G3 A3")
    with pytest.raises(OrchqError, match="nothing to draw"):
        plot_svg(answers, graph)
