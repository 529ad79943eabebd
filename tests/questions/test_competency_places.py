"""Competency questions about strings and hands, each against a source outside the project."""

import pytest

EASY = ("easy", "usable")
HARD = ("hard", "impractical", "impossible")


def test_where_b4_lies_on_the_violin(ask):
    # Equal temperament: B4 is MIDI 71; the strings are 69, 62 and 55 (Berlioz, djvu/11).
    found = {a.string: a.semitones for a in ask.strings(on="violin", pitch="B4")}
    assert found == {"A": 71 - 69, "D": 71 - 62, "G": 71 - 55}


def test_how_far_along_the_string_an_octave_lies(ask):
    # Mersenne's law: half the length; Klanner: 325 to 328 mm on the violin.
    [answer] = [a for a in ask.strings(on="violin", pitch="E6") if a.string == "E"]
    assert 325 / 2 <= answer.distance <= 328 / 2


def test_only_other_stringings_of_the_bass_have_c1(ask):
    # Wikipedia, Double bass (2008 copy): five strings go to B0, the extension to C1.
    found = ask.strings(on="double bass", pitch="C1")
    assert {answer.string for answer in found} == {"B", "C"}
    assert all(answer.tuning for answer in found)
    assert not ask.strings(on="violin", pitch="F#3")


def test_natural_harmonics_that_sound_e6_on_the_violin(ask):
    # The table of nodes (Wolfe; Wikipedia, String harmonic): half of the E string, a third or
    # two thirds of the A string.
    found = {
        (answer.string, answer.touched, answer.node)
        for answer in ask.harmonics(on="violin", pitch="E6", kind="natural")
    }
    assert found == {("E", "E6", "1/2"), ("A", "E5", "1/3"), ("A", "E6", "2/3")}


def test_artificial_harmonics_that_sound_e6_on_the_violin(ask):
    # Berlioz, djvu/29: E4 stopped and A4 touched sounds E6.
    found = {
        (answer.base, answer.touched): answer.speech
        for answer in ask.harmonics(on="violin", pitch="E6", kind="artificial")
    }
    assert found["E4", "A4"] == "good"
    # The same page: touched thirds speak much less well.
    assert found["C4", "E4"] == found["A3", "C4"] == "unreliable"


@pytest.mark.parametrize(
    ("stopped", "touched", "sounds"),
    [("A3", "D4", "A5"), ("B3", "E4", "B5"), ("C4", "F4", "C6"), ("G4", "C5", "G6")],
)
def test_the_table_of_touched_fourths(ask, stopped, touched, sounds):
    # Berlioz, djvu/29.
    found = ask.harmonics(on="violin", pitch=sounds, kind="artificial")
    assert (stopped, touched) in {(answer.base, answer.touched) for answer in found}


def test_the_seventh_partial_is_flat(ask):
    # Wikipedia, String harmonic: the seventh partial is 31 cents flat, the fifth 14.
    found = ask.harmonics(on="double bass", pitch="G4", kind="natural")
    assert {a.sounding_cents for a in found if a.partial == 7} == {-31}
    found = ask.harmonics(on="violin", pitch="B5", kind="natural")
    assert {a.sounding_cents for a in found if a.partial == 5} == {-14}


def test_cello_harmonics_with_the_thumb(ask):
    # Berlioz, djvu/51: thumb on A4, third finger on D5.
    found = ask.harmonics(on="cello", pitch="A6", kind="artificial")
    assert ("A4", "D5", "T-3") in {(a.base, a.touched, a.fingers) for a in found}


def test_what_replaces_an_artificial_harmonic(ask):
    # Berlioz, djvu/29: for B6 rather the open E string touched at B5 than B4 stopped, E5 touched.
    found = ask.replace_harmonic(on="violin", stopped="B4", touched="E5")
    assert (found[0].string, found[0].touched, found[0].sounding) == ("E", "B5", "B6")


def test_a_chord_that_is_struck(ask):
    # Tavan, djvu/13: playable, slightly broken; only two of the notes are held.
    [answer] = ask.stops(on="violin", pitches="G3-D4-B4-G5")
    assert answer.struck.grade in EASY
    assert not answer.sustains


@pytest.mark.parametrize(
    "chord", ["D4-G4-D5-B5", "D4-G4-D5-Bb5", "C#4-A4-E5-A5", "C#4-A4-G5-A5", "A3-F4-C5-F5"]
)
def test_chords_that_are_broken_rather(ask, chord):
    # Berlioz, djvu/14: of extreme difficulty struck together, very playable as arpeggios.
    [answer] = ask.stops(on="violin", pitches=chord)
    assert answer.struck.grade in HARD
    assert answer.broken.grade in EASY


def test_two_notes_below_the_second_string_are_for_two_players(ask):
    # Physics: both lie on the G string only.
    [answer] = ask.stops(on="violin", pitches="G3 A3")
    assert answer.struck.grade == "impossible"
    assert "physics" in {said.basis for said in answer.evidence}


def test_a_bass_stops_one_note_of_a_chord(ask):
    # Berlioz, djvu/62: at most two or three notes, of which only one may be stopped.
    [answer] = ask.stops(on="double bass", pitches="B1 E2", trust="berlioz")
    assert answer.struck.grade in HARD
    assert "djvu/62" in {said.locator for said in answer.evidence}
    # From memory: players today stop a fourth with one finger. Both sides are named.
    [answer] = ask.stops(on="double bass", pitches="B1 E2")
    assert answer.struck.grade == "usable"
    assert {"published", "memory"} <= {said.basis for said in answer.evidence}


def test_one_string_for_a_melody(ask):
    # Arithmetic: B3 lies below D4, the next string.
    [answer] = ask.one_string(on="violin", pitches="B3 D4 G4 A4")
    assert (answer.string, answer.lowest, answer.highest) == ("G", 71 - 12 - 55, 69 - 55)
    # Common practice: the G string is darker and stronger; it is asked for as sul G.
    assert {"dark", "strong"} <= set(answer.character)
    assert "sul G" in answer.prints


def test_compass_of_the_violin_in_the_orchestra(ask):
    found = {
        answer.evidence[0].source.partition(",")[0]: answer
        for answer in ask.compass(on="violin", level="orchestral")
    }
    # Berlioz, djvu/11; Tavan, djvu/14.
    assert (found["Berlioz"].lowest, found["Berlioz"].highest) == ("G3", "C7")
    assert (found["Tavan"].highest, found["Tavan"].usual_highest) == ("C7", "G6")


def test_compass_of_the_bass_by_its_strings(ask):
    lowest = {answer.lowest for answer in ask.compass(on="double bass") if answer.lowest}
    # Berlioz, djvu/61, sounding; Wikipedia, Double bass, for extension and fifth string.
    assert lowest == {"E1", "G1", "C1", "B0"}


def test_how_high_violins_pluck(ask):
    # Tavan, djvu/14.
    answers = ask.compass(on="violin", technique="pizzicato")
    assert [each.highest for each in answers if each.basis == "published"] == ["C6"]


def test_one_authority_alone(ask):
    # Berlioz, djvu/42.
    [answer] = ask.compass(on="viola", level="orchestral", trust="berlioz")
    assert answer.highest == "C6"


def test_registers_of_the_violin(ask):
    found = {answer.register: answer for answer in ask.registers(on="violin")}
    # Common practice: from F6 upward mainly for one player.
    high = found["high register of the violin"]
    assert (high.lowest, high.mainly_solo) == ("F6", True)
    # Berlioz, djvu/15.
    assert found["middle of the upper violin strings"].character == ("stormy", "violent")
    assert found["open strings of the violin"].heard_with == ("open string",)
    # The fifth above the open E5 is B5: one that lies high begins beyond it.
    assert found["high E string of divided violins"].lowest == "C6"
    assert high in tuple(ask.registers(on="violin", pitch="F6"))
    assert high not in tuple(ask.registers(on="violin", pitch="E6"))
