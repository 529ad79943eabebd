"""Pitch names of four languages, against the names that schools of the trade teach (memory)."""

import pytest

from orchq.errors import OrchqError
from orchq.questions.pitch_languages import from_german, in_english
from orchq.questions.pitch_names import parse_pitch, parse_pitches

SCALE = {
    # from one C up in semitones, sharps and then flats: the German names of textbooks
    "c cis d dis e eis fis g gis a ais h his": "C C# D D# E E# F# G G# A A# B B#",
    "ces des es fes ges as": "Cb Db Eb Fb Gb Ab",
    "cisis fisis gisis deses eses asas heses": "C## F## G## Dbb Ebb Abb Bbb",
}


@pytest.mark.parametrize(("german", "english"), SCALE.items())
def test_german_names(german, english):
    for name, expected in zip(german.split(), english.split(), strict=True):
        assert parse_pitch(f"{name.capitalize()}4").name == f"{expected}4"
        assert parse_pitch(f"{name}'").name == f"{expected}4"


@pytest.mark.parametrize(
    ("text", "name"),
    [
        ("la4", "A4"),
        ("do#5", "C#5"),
        ("sol dièse 4", "G#4"),
        ("Si bémol 3", "Bb3"),
        ("fa diesis 4", "F#4"),
        ("mi bemolle 4", "Eb4"),
        ("ré4", "D4"),
        ("A4", "A4"),
        ("B4", "B4"),
        ("Bb4", "Bb4"),
        ("B flat 4", "Bb4"),
        ("e'", "E4"),
        ("69", "A4"),
    ],
)
def test_names_of_other_languages(text, name):
    assert parse_pitch(text).name == name


def test_b_is_german_only_where_it_is_asked_for():
    assert [pitch.name for pitch in parse_pitches("G3 B4")] == ["G3", "B4"]
    assert in_english(from_german("B3 H3 Bb3")) == "Bb3 B3 Bb3"
    with pytest.raises(OrchqError, match="B beside German names"):
        parse_pitches("H3 B4")


@pytest.mark.parametrize("text", ["his", "es", "do", "hh4", "isis4", "la", "H"])
def test_what_names_no_octave_or_no_pitch_is_refused(text):
    with pytest.raises(OrchqError):
        parse_pitch(text)
