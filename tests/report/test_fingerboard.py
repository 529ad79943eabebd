"""Fingerboards hold what the answer says, where the string is stopped, and nothing that runs."""

import pytest
from lxml import etree

import orchq
from orchq.derive.hand import hand_model
from orchq.errors import OrchqError
from orchq.questions import load_graph
from orchq.report.board_map import TouchedNode, board_map_svg
from orchq.report.fingerboard import BoardNote, BoardPicture, fingerboard_svg
from orchq.report.plots import plot_svg
from orchq.report.sheet import instrument_sheet

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


def test_the_map_has_positions_notes_and_nodes(graph, violin):
    """First position: a whole tone above the open string (A string: B4), third: a fourth (D5).

    The fourth part of a string from the nut is the node of two octaves above it.
    """
    model = hand_model(graph.ask.knowledge, violin)
    nodes = [TouchedNode(2, 1 / 2, "A5"), TouchedNode(2, 1 / 4, "A6"), TouchedNode(2, 0.9, "off")]
    svg = board_map_svg(model, violin.standard.strings, nodes, "<map>")
    said = texts(svg)
    assert {"A5", "A6", "I", "III", "VII"} <= set(said)
    assert "off" not in said
    root = etree.fromstring(svg.encode())
    across = {"".join(t.itertext()): float(t.get("x")) for t in root.iter(f"{SVG}text")}
    nut = 64
    assert (across["A5"] - nut) / (across["A6"] - nut) == pytest.approx(2, abs=0.01)
    notes = sorted(
        (float(t.get("x")), "".join(t.itertext()))
        for t in root.iter(f"{SVG}text")
        if t.get("y") == "92.0" and "".join(t.itertext()) in set("ABCDEFG")
    )
    assert "".join(name for _, name in notes).startswith("BCDEFGABCDE")
    assert notes[0][0] == pytest.approx(across["I"], abs=15)  # half or whole tone


@pytest.mark.long
@pytest.mark.parametrize(("name", "drawn"), [("viola", True), ("harp", False)])
def test_sheets_have_a_map_where_strings_are_stopped(name, drawn):
    sheet = instrument_sheet(load_graph(["harp"]), name)
    assert ('class="board-map"' in sheet) is drawn
