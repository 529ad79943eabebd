"""The least travel of the hand, strings passed over, and fingers that are free."""

from pathlib import Path

import pytest

from orchq.derive.derivation import derive
from orchq.derive.hand import hand_model
from orchq.derive.path import Printed, can_pluck, can_trill, least_travel, passed_over
from orchq.excerpt import read_excerpt_quads, score_from_quads
from orchq.knowledge import load
from orchq.notation import Pitch
from orchq.terms import OQ

RULES = Path(__file__).parents[1] / "rules"


@pytest.fixture(scope="module")
def violin(knowledge):
    return hand_model(knowledge, knowledge.instruments[OQ + "violin"], level="soloist")


def notes(words, string=None):
    return [(Pitch.parse(word).midi, string) for word in words.split()]


def demand(words):
    pitches = tuple(sorted(Pitch.parse(word).midi for word in words.split()))
    return pitches, (Printed(),) * len(pitches)


def test_a_scale_in_first_position_needs_no_travel(violin):
    assert least_travel(violin, notes("G3 A3 B3 C4 D4 E4 F#4 G4 A4 B4 C#5 D5 E5 F#5")) == [0.0] * 13


def test_on_one_string_the_hand_travels(violin):
    free, called = (least_travel(violin, notes("A3 C5 A3 C5", string)) for string in (None, 3))
    assert free == [0.0, 0.0, 0.0]
    assert min(called) > 80


def test_an_open_string_carries_the_hand_for_nothing(violin):
    stopped, opened = (least_travel(violin, notes(f"{low} A6 {low} A6")) for low in ("G#3", "G3"))
    assert min(stopped) > 80
    assert opened == [0.0, 0.0, 0.0]


def test_no_string_has_the_note(violin):
    assert least_travel(violin, notes("G3 F3")) is None
    assert passed_over(violin, notes("G3 F3"), [1.0], 500.0) is None


def test_strings_are_passed_over_only_where_there_is_no_time(violin):
    line = notes("A3 B5 A3")
    assert passed_over(violin, line, [0.1, 0.1], 500.0) == [True, True]
    assert passed_over(violin, line, [2.0, 2.0], 500.0) == [False, False]
    assert passed_over(violin, notes("A3 F#4 A3"), [0.1, 0.1], 500.0) == [False, False]


@pytest.mark.parametrize(
    ("stop", "trilled", "free"),
    [
        ("C5 A5", (1,), True),
        ("C5 D6", (1,), False),
        ("C5 D6", (0,), True),
        ("C5 E5", (0, 1), True),
        ("D5 D5", (0, 1), False),
        ("A4 B5", (1,), True),
        ("E2 F2", (1,), True),
    ],
)
def test_trills_need_a_finger_above_the_stop(violin, stop, trilled, free):
    assert can_trill(violin, demand(stop), trilled) is free


@pytest.mark.parametrize(
    ("plucked", "held", "free"),
    [
        ("B3", None, True),
        ("B3 F4 D5 B5", None, False),
        ("F5", "B3 B4", False),
        ("E5", "B3 B4", True),
        ("G3", "B5", True),
        ("G3", "A3", True),  # one string for both: another rule says so
    ],
)
def test_the_left_hand_plucks_with_a_free_finger(violin, plucked, held, free):
    assert can_pluck(violin, demand(plucked), demand(held) if held else None) is free


def test_shifts_in_a_row_are_counted():
    """D#4 F#5 D#4 F#5 D#4 on one string: the hand leaps four times."""
    path = RULES / "leaps-in-a-row-too-quick" / "fail-two-steps-faster.ttl"
    quads = [quad for quad in read_excerpt_quads(path) if "expect#" not in quad.predicate.value]
    graph = load([RULES / "knowledge.ttl"])
    facts = derive(score_from_quads(quads, path), graph).quads
    said = [fact.object.value for fact in facts if fact.predicate.value == OQ + "notesSaid"]
    assert "4 shifts from D#4 on" in said
    assert sum("shifts" in each for each in said) == 1
