"""Courses, frets, re-entrant tunings and sympathetic strings reach what reads the graph."""

import pytest

import orchq
from orchq.derive.hand import hand_model
from orchq.notation import Pitch

MY = "https://example.org/my#"
EXTENSION = """
@prefix oq: <https://w3id.org/orchq/> .
@prefix skos: <http://www.w3.org/2004/02/skos/core#> .
@prefix my: <https://example.org/my#> .

my:cittern a oq:Instrument ;
    skos:prefLabel "cittern"@en ;
    oq:belongsToFamily oq:bowed-strings ;
    oq:excitedBy oq:plectrum ;
    oq:stoppedAgainst oq:frets ;
    oq:fretCount 19 ;
    oq:hasStandardTuning my:tuning .

my:tuning a oq:Tuning ;
    oq:isReentrant true ;
    oq:hasString my:one , my:two , my:three ;
    oq:hasSympatheticString my:humming .

my:one a oq:Course ; oq:stringNumber 1 ; oq:openPitch "E4" ; oq:stringsInCourse 2 .
my:two a oq:Course ; oq:stringNumber 2 ; oq:openPitch "D4" ; oq:stringsInCourse 2 .
my:three a oq:Course ; oq:stringNumber 3 ; oq:openPitch "G4" ; oq:stringsInCourse 2 .
my:humming a oq:SympatheticString ; oq:stringNumber 1 ; oq:openPitch "A3" .

my:length a oq:StringLength ;
    oq:onInstrument my:cittern ;
    oq:shortestMillimetres 440.0 ;
    oq:longestMillimetres 460.0 ;
    oq:hasBasis oq:memory .

my:frame a oq:HandFrame ;
    oq:onInstrument my:cittern ;
    oq:spansFingers "1-4" ;
    oq:relaxedMillimetres 80.0 ;
    oq:stretchedMillimetres 90.0 ;
    oq:widestMillimetres 100.0 ;
    oq:hasBasis oq:memory .

my:step a oq:FingerStep ;
    oq:onInstrument my:cittern ;
    oq:semitonesPerFinger 1 ;
    oq:hasBasis oq:memory .

my:secure a oq:SecureHeight ;
    oq:onInstrument my:cittern ;
    oq:highestSemitone 12 ;
    oq:hasBasis oq:memory .
"""


@pytest.fixture(scope="module")
def graph(tmp_path_factory):
    path = tmp_path_factory.mktemp("stringing") / "cittern.ttl"
    path.write_text(EXTENSION, encoding="utf-8")
    return orchq.load([path])


def test_a_course_counts_as_one_string_and_sympathetic_strings_as_none(graph):
    tuning = graph.instruments[f"{MY}cittern"].standard
    assert [(string.number, string.pitch.name) for string in tuning.strings] == [
        (1, "E4"),
        (2, "D4"),
        (3, "G4"),
    ]


def test_the_lowest_string_of_a_reentrant_tuning_is_the_lowest_in_pitch(graph):
    assert graph.instruments[f"{MY}cittern"].standard.lowest.pitch == Pitch.parse("D4")


def test_the_last_fret_is_the_highest_stop(graph):
    model = hand_model(graph, graph.instruments[f"{MY}cittern"])
    assert model.highest_stop == 19
    assert model.strings == (64, 62, 67)
    assert model.resting_on("highest_stop") == ()
