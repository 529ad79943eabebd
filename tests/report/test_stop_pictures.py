"""Findings about stops are drawn as the hand model takes the notes, on the strings in use."""

import re

import pytest
from lxml import etree

import orchq
from orchq.report.stop_pictures import stop_pictures

SVG = "{http://www.w3.org/2000/svg}"
SCORE = """<score-partwise version="4.0"><part-list>
<score-part id="P1"><part-name>Violin</part-name></score-part></part-list>
<part id="P1"><measure number="1"><attributes><divisions>1</divisions>
<time><beats>4</beats><beat-type>4</beat-type></time></attributes>{tuning}{chord}</measure></part>
</score-partwise>"""
FOURTH_TO_F = """<direction><direction-type><scordatura>
<accord string="4"><tuning-step>F</tuning-step><tuning-octave>3</tuning-octave></accord>
</scordatura></direction-type></direction>"""


def chord(*names):
    written = ""
    for number, name in enumerate(names):
        step, sharp, octave = re.fullmatch(r"([A-G])(#?)(\d)", name).groups()
        alter = "<alter>1</alter>" if sharp else ""
        pitch = f"<pitch><step>{step}</step>{alter}<octave>{octave}</octave></pitch>"
        joined = "<chord/>" if number else ""
        written += f"<note>{joined}{pitch}<duration>4</duration><type>whole</type></note>"
    return written


@pytest.fixture(scope="module")
def knowledge():
    return orchq.load()


@pytest.fixture
def drawn(tmp_path, knowledge):
    """The picture of the first finding about a chord: the words in it, and where dots lie."""

    def call(*names, tuning=""):
        score = tmp_path / "chord.musicxml"
        score.write_text(SCORE.format(chord=chord(*names), tuning=tuning), encoding="utf-8")
        report = orchq.check(score, knowledge=knowledge)
        pictures = list(stop_pictures(report, orchq.catalogue(knowledge), knowledge).values())
        if not pictures:
            return None
        root = etree.fromstring(pictures[0].encode())
        words = ["".join(each.itertext()) for each in root.iter(f"{SVG}text")]
        return words, [float(dot.get("cy")) for dot in root.iter(f"{SVG}circle")]

    return call


def test_two_notes_of_the_lowest_string_lie_on_it(drawn):
    words, heights = drawn("G3", "A3")
    assert len(heights) == 2
    assert len(set(heights)) == 1
    assert "no string for each of the notes" in words


def test_what_is_out_of_reach_is_drawn_with_its_span(drawn):
    """The span is that of equal temperament on 328 mm: from 2^(-3/12) to 2^(-19/12) of it."""
    words, heights = drawn("A#3", "A5")
    assert "side by side: out of reach" in words
    [mm] = [word for word in words if word.endswith(" mm")]
    apart = 328 * (2 ** (-3 / 12) - 2 ** (-19 / 12))
    assert mm == f"{apart:.0f} mm"
    assert abs(heights[0] - heights[1]) == pytest.approx(26)


def test_a_hard_stop_names_its_grade_and_fingers(drawn):
    words, _ = drawn("B3", "F#4", "D#5", "A5")
    assert any(word.startswith("in two pairs: ") for word in words)
    assert {"1", "2", "3"} & set(words)


def test_strings_are_those_of_the_tuning(drawn):
    words, heights = drawn("F3", "G3", tuning=FOURTH_TO_F)
    assert len(set(heights)) == 1
    assert [word for word in words if word in {"E", "A", "D", "G", "F"}] == ["E", "A", "D", "F"]


def test_nothing_is_drawn_where_stops_are_not_the_question(drawn):
    assert drawn("F3") is None
