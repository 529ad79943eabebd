"""The question how pedals are set."""

import pytest

import orchq
from orchq.errors import OrchqError


@pytest.fixture(scope="module")
def ask():
    return orchq.load(["harp"]).ask


def test_two_chords_and_what_moves_between_them(ask):
    # Arithmetic: C and G go up by one position, each under its own foot.
    first, second = ask.pedals(on="harp", pitches="C4 E4 G4 | C#4 E4 G#4")
    assert (first.setting, first.changes) == ("D C B | E F G A", ())
    assert second.setting == "D C# B | E F G# A"
    assert second.changes == ("C sharp (left foot)", "G sharp (right foot)")


def test_the_handbook_example_of_lilypond(ask):
    # LilyPond 2.24, Notation Reference 2.2.4: the setting under C sharp, and C natural after it.
    sharp, natural = ask.pedals(on="Harfe", pitches="C#5 | C5", start="Db C# B | E# F# G Ab")
    assert (sharp.setting, sharp.changes) == ("Db C# B | E# F# G Ab", ())
    assert natural.changes == ("C natural (left foot)",)


def test_c_and_c_flat_are_told_with_the_spelling_that_helps(ask):
    [answer] = ask.pedals(on="harp", pitches="C4 Cb5")
    assert "C flat and C natural" in answer.problem
    assert answer.instead == ("C4", "B4")


def test_what_no_spelling_helps(ask):
    [answer] = ask.pedals(on="harp", pitches="G4 G#4 A4")
    assert answer.problem
    assert answer.instead == ()


def test_a_double_sharp(ask):
    [answer] = ask.pedals(on="harp", pitches="F##4 A4")
    assert answer.problem == "no pedal gives F##4"
    assert answer.instead == ("G4", "A4")


def test_the_diminished_seventh_as_a_glissando(ask):
    # From memory, as every player has it.
    [answer] = ask.pedals(on="harp", pitches="B3 D4 F4 Ab4", glissando=True)
    assert (answer.setting, answer.problem) == ("D Cb B | E# F G# Ab", "")


def test_a_triad_fills_no_seven_strings(ask):
    # Arithmetic: no string near A gives C, E or G.
    [answer] = ask.pedals(on="harp", pitches="C4 E4 G4", glissando=True)
    assert answer.problem


def test_pedals_that_nothing_needs_are_named(ask):
    found = ask.pedals(on="harp", pitches="C4", start="D E F G A B")
    assert found.remarks == ()
    assert "D, B, E, F, G, A" in ask.pedals(on="harp", pitches="C4").remarks[0]


def test_what_has_no_pedals_is_said(ask):
    found = ask.pedals(on="violin", pitches="C4")
    assert (tuple(found), found.remarks) == ((), ("The violin has no pedals.",))


@pytest.mark.parametrize(
    ("asked", "words"),
    [
        ({"on": "harp", "pitches": "C4", "start": "H"}, "the pedals are D C B E F G A"),
        ({"on": "harp", "pitches": "C4", "start": "C C#"}, "each with # or b"),
        ({"on": "harp", "pitches": "C4", "start": 3}, "written in one text"),
        ({"on": "harp", "pitches": 60}, "written in one text"),
        ({"on": "harp", "pitches": "C4 | | C4"}, "no pitch is given"),
        ({"on": "harp", "pitches": "|".join(["C4"] * 65)}, "65 chords are too many"),
    ],
)
def test_what_cannot_be_asked(ask, asked, words):
    with pytest.raises(OrchqError, match=words):
        ask.pedals(**asked)
