"""Strings, compass and names against sources outside the project, where there are any."""

import re
from itertools import pairwise
from pathlib import Path

import music21
import pytest

import orchq
from orchq.derive.pedals import setting_text
from orchq.notation import Pitch
from orchq.terms import oq


def _one(graph, slug):
    return next(i for i in graph.instruments.values() if i.slug.endswith(slug))


def _open_pitches(tuning):
    return [str(string.pitch) for string in reversed(tuning.strings)]


@pytest.mark.parametrize(
    ("slug", "outside"),
    [
        ("classical-guitar", music21.instrument.AcousticGuitar),
        ("mandolin", music21.instrument.Mandolin),
    ],
)
def test_strings_and_lowest_note_as_music21_has_them(graph, ask, slug, outside):
    theirs = outside()
    instrument = _one(graph, slug)
    ours = [string.pitch.midi for string in reversed(instrument.standard.strings)]
    assert ours == [pitch.midi for pitch in theirs.stringPitches]
    [compass] = ask.compass(on=instrument.label)
    assert Pitch.parse(compass.lowest).midi == theirs.lowestNote.midi


def test_the_five_string_cello_is_the_cello_of_music21_and_a_fifth_string(graph):
    # Only the four lower strings stand in music21; the fifth string, E4, is from memory.
    strings = _one(graph, "five-string-cello").standard.strings
    theirs = music21.instrument.Violoncello().stringPitches
    assert [string.pitch.midi for string in reversed(strings[1:])] == [p.midi for p in theirs]
    assert str(strings[0].pitch) == "E4"


def test_the_guitar_as_abjad_has_it(graph, ask):
    # abjad 3.19, class Guitar: default range E2 to E5. The tuning is from memory.
    [compass] = ask.compass(on="classical guitar")
    assert (compass.lowest, compass.usual_highest) == ("E2", "E5")
    tuning = _open_pitches(_one(graph, "classical-guitar").standard)
    assert tuning == ["E2", "A2", "D3", "G3", "B3", "E4"]


def test_the_harp_as_music21_and_abjad_have_it(graph, ask):
    # music21, class Harp: C1 to G#7. abjad 3.19, class Harp: B0 to G#7, as with C flat below.
    theirs = music21.instrument.Harp()
    [usual, low] = ask.compass(on="harp")
    assert Pitch.parse(usual.lowest).midi == theirs.lowestNote.midi
    assert {Pitch.parse(answer.highest).midi for answer in (usual, low)} == {
        theirs.highestNote.midi
    }
    assert Pitch.parse(low.lowest).midi == Pitch.parse("B0").midi
    assert low.tuning is not None
    harp = _one(graph, "harp")
    sounded = [pitch for string in harp.standard.strings for pitch in harp.open_pitches(string)]
    assert max(sounded).midi == theirs.highestNote.midi
    assert min(sounded).midi == theirs.lowestNote.midi


def test_the_harp_has_a_string_for_each_letter(graph):
    # From memory: 47 strings.
    strings = _one(graph, "harp").standard.strings
    letters = [string.pitch.spelling[0] for string in reversed(strings)]
    assert letters == list("CDEFGAB" * 6 + "CDEFG")
    assert len(strings) == 47
    assert [string.pitch.name for string in strings if string.outside_pedals] == ["D1", "C1"]


def test_the_pedals_stand_as_the_standard_has_them(graph):
    # MusicXML 4.0, type harp-pedals: pedal-step values in the order D, C, B, E, F, G, A.
    # LilyPond 2.24, Notation Reference 2.2.4: D, C and B on the left, E, F, G and A on the right;
    # each flat, natural or sharp.
    pedals = _one(graph, "harp").pedals
    assert [pedal.letter for pedal in pedals] == list("DCBEFGA")
    assert [pedal.foot for pedal in pedals] == ["left foot"] * 3 + ["right foot"] * 4
    assert {pedal.alterations for pedal in pedals} == {(-1, 0, 1)}


def test_a_pedal_diagram_of_the_lilypond_test_suite(graph, tmp_path):
    # lilypond/musicxmlTestSuite 31a as music21 10.5.1 carries it: measure 12, the pedals in order.
    suite = Path(music21.__file__).parent / "musicxml" / "lilypondTestSuite"
    text = (suite / "31a-Directions.xml").read_text(encoding="utf-8")
    part = tmp_path / "directions.musicxml"
    part.write_text(re.sub("(<part-name[^>]*>)[^<]*", r"\1Harp", text), encoding="utf-8")
    [score_part] = orchq.read(part, graph).parts
    [setting] = [mark.pedals for mark in score_part.marks if mark.pedals]
    pedals = _one(graph, "harp").pedals
    assert setting_text(dict(setting), pedals) == "D Cb Bb | E F G# Ab"


@pytest.mark.parametrize(
    ("slug", "strings", "compass"),
    [
        ("viola-d-amore", "A2 D3 A3 D4 F#4 A4 D5", ("A2", "A6")),
        ("treble-viol", "D3 G3 C4 E4 A4 D5", ("D3", "D6")),
        ("bass-viol", "D2 G2 C3 E3 A3 D4", ("D2", "D5")),
        ("hardanger-fiddle", "A3 D4 A4 E5", ("A3", "E6")),
    ],
)
def test_strings_and_compass_from_memory(graph, ask, slug, strings, compass):
    """music21 has no class for these instruments: the values are from memory."""
    instrument = _one(graph, slug)
    assert _open_pitches(instrument.standard) == strings.split()
    [answer] = ask.compass(on=instrument.label)
    assert (answer.lowest, answer.highest) == compass
    assert answer.basis == "memory"


def test_the_viols_are_tuned_alike_an_octave_apart(graph):
    # From memory: fourths around a third.
    treble, bass = (_one(graph, slug).standard.strings for slug in ("treble-viol", "bass-viol"))
    assert [t.pitch.midi - 12 for t in treble] == [b.pitch.midi for b in bass]
    steps = [a.pitch.midi - b.pitch.midi for a, b in pairwise(bass)]
    assert steps == [5, 5, 4, 5, 5]


@pytest.mark.parametrize(
    ("slug", "frets"),
    [("classical-guitar", 19), ("mandolin", 20), ("treble-viol", 7), ("bass-viol", 7)],
)
def test_the_last_fret_of_the_first_string_bounds_the_compass(ask, graph, slug, frets):
    # Arithmetic: a fret is a semitone. The numbers of frets are from memory.
    instrument = _one(graph, slug)
    [compass] = ask.compass(on=instrument.label)
    last = instrument.standard.strings[0].pitch.midi + frets
    tops = {compass.highest, compass.usual_highest}
    assert last in {Pitch.parse(top).midi for top in tops}


def test_sounds_are_in_the_standard_list(graph):
    # MusicXML 3.0, sounds.xml: the identifiers of these instruments, as they stand there.
    listed = {
        "viola-d-amore": {"strings.viola-damore"},
        "treble-viol": {"strings.viol.treble"},
        "bass-viol": {"strings.viol.bass"},
        "five-string-cello": {"strings.cello.piccolo"},
        "hardanger-fiddle": {"strings.fiddle.hardanger"},
        "classical-guitar": {"pluck.guitar", "pluck.guitar.nylon-string"},
        "mandolin": {"pluck.mandolin"},
        "harp": {"pluck.harp"},
    }
    for slug, sounds in listed.items():
        assert set(_one(graph, slug).sounds) == sounds


@pytest.mark.parametrize(
    ("names", "slug", "section"),
    [
        ("Viola d'amore|Viola d\u2019amore I|Viole d'amour|Liebesgeige", "viola-d-amore", False),
        ("Violas d'amore|Viole d'amore|Violes d'amour|Liebesgeigen", "viola-d-amore", True),
        ("Treble viol|Viola da gamba soprano|Dessus de viole|Diskantgambe", "treble-viol", False),
        ("Bass viol|Viola da gamba|Viole de gambe|Gambe", "bass-viol", False),
        ("Bass viols|Viole da gamba|Basses de viole|Gamben", "bass-viol", True),
        ("Five-string cello|Violoncello a cinque corde", "five-string-cello", False),
        ("Violoncelle à cinq cordes|Fünfsaitiges Violoncello", "five-string-cello", False),
        ("Hardanger fiddle|Violino Hardanger|Hardangerfiedel", "hardanger-fiddle", False),
        ("Guitar|Chitarra|Guitare|Gitarre|Gtr.|Git. 2", "classical-guitar", False),
        ("Guitars|Chitarre|Guitares|Gitarren", "classical-guitar", True),
        ("Mandolin|Mandolino|Mandoline|Mand.", "mandolin", False),
        ("Harp|Pedal harp|Arpa|Harpe|Harfe|Hp. 1|Hrf.", "harp", False),
        ("Harps|Arpe|Harpes|Harfen", "harp", True),
        ("Mandolins|Mandolini|Mandolines|Mandolinen", "mandolin", True),
    ],
)
def test_printed_names_in_four_languages(graph, names, slug, section):
    found = [graph.instrument_named(name) for name in names.split("|")]
    assert {match.instrument for match in found} == {_one(graph, slug).iri}
    assert {match.section for match in found} == {section}


@pytest.mark.parametrize(("slug", "count"), [("viola-d-amore", 7), ("hardanger-fiddle", 5)])
def test_strings_that_sound_along_are_not_played(graph, slug, count):
    # Counts from memory.
    tuning = _one(graph, slug).standard
    said = [q for q in graph.quads if q.subject.value == tuning.iri]
    along = {q.object.value for q in said if q.predicate == oq("hasSympatheticString")}
    assert len(along) == count
    assert along.isdisjoint(string.iri for string in tuning.strings)


def test_the_mandolin_has_four_courses_of_two(graph):
    # From memory, as everywhere.
    courses = [string.iri for string in _one(graph, "mandolin").standard.strings]
    counts = {
        quad.subject.value: quad.object.value
        for quad in graph.quads
        if quad.predicate == oq("stringsInCourse")
    }
    assert [counts[course] for course in courses] == ["2", "2", "2", "2"]


def test_names_of_the_core_stay_what_they_were(graph):
    kept = {name: graph.instrument_named(name).instrument for name in ("Viola", "Cello", "Violini")}
    assert {name: iri.rpartition("/")[2] for name, iri in kept.items()} == {
        "Viola": "viola",
        "Cello": "cello",
        "Violini": "violin",
    }
