"""What is heard: against music21's partials and the tables of handbooks, string by string."""

import csv
from pathlib import Path

import pytest
from lxml import etree
from music21 import pitch as m21

from orchq.notation import Pitch
from orchq.report.plots import plot_svg

TABLES = Path(__file__).parents[1] / "hand" / "data"
INSTRUMENTS = ("violin", "viola", "cello", "double bass")


def rows(name):
    lines = (TABLES / name).read_text(encoding="utf-8").splitlines()
    return list(csv.DictReader(line for line in lines if not line.startswith("#")))


@pytest.mark.parametrize("on", INSTRUMENTS)
def test_every_harmonic_of_an_open_string_agrees_with_music21(graph, on):
    opened = {each.number: each.pitch for each in graph.ask.names.instrument(on).standard.strings}
    found = graph.ask.sounds(on=on)
    assert {answer.number for answer in found} == set(opened)
    for answer in found:
        name = opened[answer.number].name.replace("b", "-")
        partial = m21.Pitch(name).getHarmonic(answer.partial)
        assert Pitch.parse(answer.heard).midi == round(partial.ps)
        assert abs(100 * (partial.ps - round(partial.ps)) - answer.heard_cents) <= 1
        assert answer.hertz == pytest.approx(
            partial.frequency, rel=0.0006
        )  # a cent: music21 rounds


@pytest.mark.parametrize("on", INSTRUMENTS)
def test_every_harmonic_over_a_stopped_note_agrees_with_music21(graph, on):
    """Partials 3 and 4, touched a fifth and a fourth above, up to an octave on each string."""
    instrument = graph.ask.names.instrument(on)
    for string in instrument.standard.strings:
        for height in range(1, 13):
            stopped = Pitch.from_midi(string.pitch.midi + height)
            for touch, partial in ((7, 3), (5, 4)):
                written = [
                    Pitch.from_midi(midi).octaves_up(-instrument.octaves_above).name
                    for midi in (stopped.midi, stopped.midi + touch)
                ]
                found = graph.ask.sounds(on=on, base=written[0], touch=written[1])
                sounding = m21.Pitch(stopped.name.replace("b", "-")).getHarmonic(partial)
                assert {Pitch.parse(answer.heard).midi for answer in found} == {round(sounding.ps)}


def test_the_published_table_of_natural_harmonics(ask):
    """String harmonic (Wikipedia) and J. Wolfe (UNSW): the 16 strings, as far as is granted."""
    text = (TABLES / "natural_harmonics.csv").read_text(encoding="utf-8")
    lines = [line.split(",") for line in text.splitlines() if not line.startswith("#")]
    checked = 0
    for opened, on, *places in lines:
        heard = {
            (each.string, each.node): f"{each.heard}{each.heard_cents:+d}"
            for each in ask.sounds(on=on)
        }
        for node, _, sounding in map(str.split, places):
            letter = opened.rstrip("0123456789")
            if (letter, node) in heard:
                checked += 1
                assert heard[letter, node] == sounding
    assert checked == 176


def test_the_published_scale_of_touched_fourths(ask):
    """Berlioz, Grand traité, djvu/29."""
    for row in rows("touch_fourth.csv"):
        found = ask.sounds(on="violin", base=row["stopped"], touch=row["touched"])
        assert {answer.heard for answer in found} == {row["sounding"]}


def test_a_note_has_several_meanings(ask):
    found = ask.sounds(on="violin", pitch="D5")
    assert [(a.printed, a.string, a.heard) for a in found] == [
        ("note", None, "D5"),
        ("small circle", "D", "D5"),
        ("small circle", "G", "D5"),
        ("diamond", "D", "D5"),
        ("diamond", "G", "D5"),
        ("diamond", "A", "A6"),
    ]


def test_the_double_bass_sounds_an_octave_lower(ask):
    [plain] = [a for a in ask.sounds(on="double bass", pitch="G3") if a.printed == "note"]
    assert plain.heard == "G2"
    [open_g] = ask.sounds(on="double bass", touch="C4", string="sul G")
    assert (open_g.heard, open_g.partial) == ("G4", 4)


def test_a_retuned_string_sounds_otherwise_than_printed(ask):
    """Bach's fifth suite for cello tunes the A string to G (from memory): A3 printed sounds G3."""
    heard = {
        answer.string: answer.heard
        for answer in ask.sounds(on="cello", pitch="A3", tuning="C2 G2 D3 G3")
        if answer.printed == "note"
    }
    assert (heard["A"], heard["D"]) == ("G3", "A3")
    [touched] = ask.sounds(on="cello", touch="A4", tuning="C2 G2 D3 G3", string="sul A")
    assert touched.heard == "G4"


@pytest.mark.parametrize(
    ("given", "said"),
    [
        ({"tuning": "G3 D4"}, "4 strings"),
        ({"string": "legato"}, "calls no string"),
        ({"touch": "F#3"}, "Nothing sounds"),
    ],
)
def test_what_makes_no_sense_is_said(ask, given, said):
    found = ask.sounds(on="violin", **given)
    assert not found
    assert said in found.remarks[0]


@pytest.mark.parametrize("on", INSTRUMENTS)
def test_meanings_are_engraved(graph, on):
    answers = graph.ask.sounds(on=on)
    drawn = etree.fromstring(plot_svg(answers, graph).encode())
    heads = drawn.xpath("//*[local-name()='g'][@class='notehead']")
    assert len(heads) == 2 * len(answers)
