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


def _compasses(graph, ask, slug, *, basis):
    answers = ask.compass(on=_one(graph, slug).iri)
    return [answer for answer in answers if answer.basis == basis]


# Retyped from the sources on 25 November 2026: the last string first, as they have them.
# mingus 0.6.1: extra/tunings.py. LilyPond 2.24.1: ly/string-tunings-init.ly (octaves by Helmholtz).
# chords-db 0.5.1 (npm @tombatossals/chords-db): lib/guitar.json and ukulele.json, tunings.
# acordes 1.1.0 (PyPI): instruments.py. tuttut 0.0.6 (PyPI): logic/theory.py, read backwards.
TUNINGS = [
    ("classical-guitar", "", "E2 A2 D3 G3 B3 E4", "mingus, Guitar, standard; chords-db; acordes"),
    ("classical-guitar", "", "E2 A2 D3 G3 B3 E4", "tuttut, standard_tuning"),
    ("classical-guitar", "sixth string in D", "D2 A2 D3 G3 B3 E4", "mingus, Guitar, Drop D"),
    ("mandolin", "", "G3 D4 A4 E5", "mingus, Mandolin, each twice; acordes"),
    ("mandolin", "", "g d' a' e''", "LilyPond, mandolin-tuning"),
    ("five-string-cello", "-1", "C2 G2 D3 A3", "mingus, Cello, standard: without the fifth string"),
    ("five-string-cello", "-1", "c, g, d a", "LilyPond, cello-tuning: without the fifth string"),
    ("soprano-ukulele", "", "G4 C4 E4 A4", "mingus, Ukulele, C6; chords-db; acordes, high_g"),
    ("soprano-ukulele", "", "g' c' e' a'", "LilyPond, ukulele-tuning"),
    ("soprano-ukulele", "", "G4 C4 E4 A4", "tuttut, standard_ukulele_tuning"),
    ("soprano-ukulele", "in D", "a' d' fis' b'", "LilyPond, ukulele-d-tuning"),
    ("soprano-ukulele", "low G", "G3 C4 E4 A4", "acordes, low_g"),
    # No source outside was at hand for these.
    ("viola-d-amore", "", "A2 D3 A3 D4 F#4 A4 D5", "memory"),
    ("treble-viol", "", "D3 G3 C4 E4 A4 D5", "memory"),
    ("bass-viol", "", "D2 G2 C3 E3 A3 D4", "memory"),
    ("bass-viol", "seven strings", "A1 D2 G2 C3 E3 A3 D4", "memory"),
    ("hardanger-fiddle", "", "A3 D4 A4 E5", "memory"),
    ("five-string-cello", "", "C2 G2 D3 A3 E4", "memory"),
]

_STEPS = {"c": 48, "d": 50, "e": 52, "f": 53, "fis": 54, "g": 55, "a": 57, "b": 59}


def _heights(text):
    """MIDI numbers of pitches in scientific notation, or in LilyPond's."""
    return [
        Pitch.parse(name).midi
        if name[-1].isdecimal()
        else _STEPS[name.rstrip("',")] + 12 * (name.count("'") - name.count(","))
        for name in text.split()
    ]


@pytest.mark.parametrize(("slug", "which", "pitches", "source"), TUNINGS)
def test_tunings(graph, slug, which, pitches, source):
    instrument = _one(graph, slug)
    tunings = [t for t in instrument.variants if which and t.label.endswith(which)]
    tuning = tunings[0] if tunings else instrument.standard
    heights = [string.pitch.midi for string in reversed(tuning.strings)]
    if which == "-1":
        heights.pop()
    assert heights == _heights(pitches), source


def test_the_guitar_as_abjad_has_it(graph, ask):
    # abjad 3.19, class Guitar: default range E2 to E5.
    [answer] = _compasses(graph, ask, "classical-guitar", basis="published")
    assert (answer.lowest, answer.usual_highest) == ("E2", "E5")


@pytest.mark.parametrize(
    ("slug", "compass"),
    [
        ("viola-d-amore", ("A2", "A6")),
        ("hardanger-fiddle", ("A3", "E6")),
        ("five-string-cello", ("C2", "E6")),
        ("treble-viol", ("D3", "D6")),
        ("bass-viol", ("D2", "D5")),
        ("classical-guitar", ("E2", "B5")),
        ("mandolin", ("G3", "C7")),
        ("soprano-ukulele", ("C4", "A5")),
    ],
)
def test_compasses_from_memory(graph, ask, slug, compass):
    """For these highest notes no source outside was at hand."""
    [answer] = _compasses(graph, ask, slug, basis="memory")
    assert (answer.lowest, answer.highest) == compass


@pytest.mark.parametrize(
    ("slug", "outside"),
    [
        ("classical-guitar", music21.instrument.AcousticGuitar),
        ("mandolin", music21.instrument.Mandolin),
        ("soprano-ukulele", music21.instrument.Ukulele),
    ],
)
def test_strings_and_lowest_note_as_music21_has_them(graph, ask, slug, outside):
    theirs = outside()
    instrument = _one(graph, slug)
    ours = [string.pitch.midi for string in reversed(instrument.standard.strings)]
    assert ours == [pitch.midi for pitch in theirs.stringPitches]
    lowest = {answer.lowest for answer in ask.compass(on=instrument.iri)}
    assert {Pitch.parse(pitch).midi for pitch in lowest} == {theirs.lowestNote.midi}


def test_the_five_string_cello_is_the_cello_of_music21_and_a_fifth_string(graph):
    # Only the four lower strings stand in music21; the fifth string, E4, is from memory.
    strings = _one(graph, "five-string-cello").standard.strings
    theirs = music21.instrument.Violoncello().stringPitches
    assert [string.pitch.midi for string in reversed(strings[1:])] == [p.midi for p in theirs]


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


def test_viols_as_websters_dictionary_has_them(graph, ask):
    # Webster's Revised Unabridged Dictionary (1913), in the dictionary package gcide 0.48.5, read
    # on 25 November 2026: "Viol" has six strings, a bow, and frets; "Viola di amore" has
    # wires besides the strings, which sound along.
    kinds = {answer.instrument: set(answer.kinds) for answer in ask.instruments()}
    for slug in ("treble-viol", "bass-viol"):
        viol = _one(graph, slug)
        assert len(viol.standard.strings) == 6
        assert {"bowed", "fretted"} <= kinds[viol.label]
    assert "sympathetic strings" in kinds["viola d'amore"]


def test_the_viols_are_tuned_alike_an_octave_apart(graph):
    # From memory: fourths around a third.
    treble, bass = (_one(graph, slug).standard.strings for slug in ("treble-viol", "bass-viol"))
    assert [t.pitch.midi - 12 for t in treble] == [b.pitch.midi for b in bass]
    steps = [a.pitch.midi - b.pitch.midi for a, b in pairwise(bass)]
    assert steps == [5, 5, 4, 5, 5]


def test_a_source_that_several_name_is_described_once(graph):
    labels = [source.label for source in graph.sources.values()]
    assert sorted(labels) == sorted(set(labels))


@pytest.mark.parametrize(
    ("slug", "frets"),
    [
        ("classical-guitar", 19),
        ("mandolin", 20),
        ("soprano-ukulele", 12),
        ("treble-viol", 7),
        ("bass-viol", 7),
    ],
)
def test_the_last_fret_of_the_first_string_bounds_the_compass(ask, graph, slug, frets):
    # Arithmetic: a fret is a semitone. The numbers of frets are from memory.
    instrument = _one(graph, slug)
    assert instrument.frets == frets
    last = instrument.standard.strings[0].pitch.midi + frets
    tops = {
        top
        for answer in ask.compass(on=instrument.iri)
        for top in (answer.highest, answer.usual_highest)
    }
    assert last in {Pitch.parse(top).midi for top in tops if top}


def test_the_guitars_string_is_as_long_as_tuttut_has_it(graph):
    # tuttut 0.0.6, logic/fretboard.py: scale_length = 650.
    guitar = _one(graph, "classical-guitar")
    lengths = graph.in_force("StringLength", guitar)
    assert {float(each.values["longestMillimetres"]) for each in lengths if each.source} == {650}
    for each in lengths:
        assert each.values["shortestMillimetres"] <= 650 <= each.values["longestMillimetres"]


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
        "soprano-ukulele": {"pluck.ukulele"},
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
        ("Guitar|Chitarra|Guitare|Klassische Gitarre|Gtr.|Git. 2", "classical-guitar", False),
        ("Guitars|Chitarre|Guitares|Gitarren", "classical-guitar", True),
        ("Mandolin|Mandolino|Mandoline|Mand.", "mandolin", False),
        ("Harp|Pedal harp|Arpa|Harpe|Harfe|Hp. 1|Hrf.", "harp", False),
        ("Harps|Arpe|Harpes|Harfen", "harp", True),
        ("Mandolins|Mandolini|Mandolines|Mandolinen", "mandolin", True),
        ("Ukulele|Soprano ukulele|Ukulélé|Sopranukulele|Uke.", "soprano-ukulele", False),
        ("Ukuleles|Ukulélés|Ukulelen", "soprano-ukulele", True),
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
    # mingus 0.6.1, extra/tunings.py: every pitch of the mandolin stands twice.
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
