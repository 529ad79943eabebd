"""How shapes come out, with fingers and reasons."""

import pytest
from msgspec.structs import replace

from orchq.derive.hand import (
    Frame,
    Grade,
    HandModel,
    Placement,
    Stop,
    grade_of,
    semitones_at,
    solve,
    solver_for,
    span_mm,
    stop_mm,
)
from orchq.errors import OrchqError
from orchq.notation import Pitch

from .conftest import WEIGHTS

Models = dict[str, HandModel]


def _stop(model: HandModel, chord: str) -> Stop:
    return solve([Pitch.parse(name).midi for name in chord.split("-")], model)


def _taken(places: tuple[Placement, ...]) -> list[tuple[int, int, str | None]]:
    return [(place.string, place.semitones, place.finger) for place in places]


def _codes(stop: Stop) -> list[str]:
    return [reason.code for reason in stop.struck.reasons]


@pytest.mark.parametrize(
    ("length", "low", "high", "expected"),
    [
        (328, 2, 7, 73.3),
        (328, 2, 8, 85.6),
        (375, 2, 7, 83.8),
        (695, 2, 5, 98.5),
        (695, 12, 17, 87.2),
        (1045, 2, 4, 101.6),
        (1045, 12, 16, 107.8),
    ],
)
def test_spans_in_millimetres(length: float, low: int, high: int, expected: float) -> None:
    """Computed apart from the code, by x = L(1 - 2^(-n/12))."""
    assert span_mm(length, low, high) == pytest.approx(expected, abs=0.1)
    assert semitones_at(length, stop_mm(length, high)) == pytest.approx(high)


@pytest.mark.parametrize("place", [-1, 328, 400])
def test_a_place_off_the_string_has_no_height(place: float) -> None:
    with pytest.raises(ValueError, match="is not on a string"):
        semitones_at(328, place)


@pytest.mark.parametrize(
    ("name", "chord"),
    [
        ("violin", "G3-D4-A4-E5"), ("viola", "C3-G3-D4"), ("cello", "C2-G2-D3-A3"),
        ("double-bass", "E1-A1-D2"),
    ],
)  # fmt: skip
def test_open_strings_only(models: Models, name: str, chord: str) -> None:
    stop = _stop(models[name], chord)
    assert (stop.struck.grade, stop.struck.effort, stop.struck.height) == (Grade.EASY, 0, 0)
    assert _codes(stop) == ["all-open"]


@pytest.mark.parametrize(
    ("chord", "fingering"),
    [
        # the octave is the frame of the hand: first finger below, fourth above
        ("A3-A4", [(4, 2, "1"), (3, 7, "4")]),
        ("Bb3-Bb4", [(4, 3, "1"), (3, 8, "4")]),
        # sixth and third in first position
        ("B4-G#5", [(2, 2, "1"), (1, 4, "2")]),
        ("G4-B4", [(3, 5, "3"), (2, 2, "1")]),
        # a fifth under one finger
        ("B3-F#4", [(4, 4, "2"), (3, 4, "2")]),
        # four notes: a barred first finger, second and third above
        ("A3-E4-C#5-A5", [(4, 2, "1"), (3, 2, "1"), (2, 4, "2"), (1, 5, "3")]),
        ("G3-E4-C5-G5", [(4, 0, None), (3, 2, "1"), (2, 3, "2"), (1, 3, "2")]),
    ],
)
def test_violin_fingers(models: Models, chord: str, fingering: list[object]) -> None:
    stop = _stop(models["violin"], chord)
    assert stop.struck.grade <= Grade.USABLE
    assert _taken(stop.struck.fingering) == fingering


def test_cello_octave_on_the_neck_takes_the_thumb(models: Models) -> None:
    """Broadley, Chats to 'Cello Students, ch. XII: octaves with the thumb."""
    cello = models["cello"]
    octave = _stop(cello, "G3-G4").struck
    assert octave.fingering[0].finger == "T"
    plain = tuple(frame for frame in cello.frames if frame.low != "T")
    assert _stop(replace(cello, frames=plain), "G3-G4").struck.effort > octave.effort


def test_unison_with_an_open_string_is_good_and_a_stopped_one_a_stretch(models: Models) -> None:
    """Forsyth, Orchestration, p. 317, on the open ones; the stretch is from memory."""
    violin = models["violin"]
    with_open = _stop(violin, "A4-A4")
    assert with_open.struck.grade <= Grade.USABLE
    assert _codes(with_open) == ["unison-with-open-string"]
    assert _taken(with_open.struck.fingering) == [(2, 0, None), (3, 7, "4")]
    assert _stop(violin, "B4-B4").struck.grade >= Grade.HARD


def test_tenths_are_for_soloists(models: Models) -> None:
    """From memory: a stretch of eight or nine semitones, low on the violin."""
    violin = models["violin"]
    soloist = replace(violin, level="soloist", secure_semitone=24)
    tenth = "A3-C5"  # a minor tenth without an open string in it
    assert _stop(violin, tenth).struck.grade == Grade.IMPRACTICAL
    assert _stop(soloist, tenth).struck.grade <= Grade.HARD
    assert _stop(replace(violin, level="student", secure_semitone=8), tenth).struck.grade == (
        Grade.IMPRACTICAL
    )


def test_fourths_ask_for_more_than_sixths(models: Models) -> None:
    """Forsyth, Orchestration, p. 317: sixths quite easy, fourths not so completely."""
    violin = models["violin"]
    assert _stop(violin, "E4-C5").struck.grade == Grade.EASY
    assert _stop(violin, "B3-E4").struck.grade == Grade.USABLE
    assert _stop(violin, "B3-F#4").struck.grade == Grade.USABLE


@pytest.mark.parametrize(
    ("name", "chord"),
    [
        # thirds, Forsyth, Orchestration, p. 317: quite easy; the other instruments from memory
        ("violin", "Eb4-G4"), ("violin", "Bb4-D5"), ("violin", "E4-G4"), ("viola", "Ab3-C4"),
        ("cello", "C3-E3"), ("cello", "E3-G3"), ("cello", "D4-F#4"), ("double-bass", "F2-A2"),
        ("double-bass", "D3-F3"),
        # the bass's fourth across strings, under one finger (memory)
        ("double-bass", "A2-D3"), ("double-bass", "F1-Bb1"),
        # tritones: the augmented fourth, Tavan, djvu/10
        ("violin", "F4-B4"), ("violin", "Eb4-A4"),
    ],
)  # fmt: skip
def test_thirds_and_fourths_that_players_take(models: Models, name: str, chord: str) -> None:
    assert _stop(models[name], chord).struck.grade <= Grade.USABLE


@pytest.mark.parametrize("chord", ["C4-A4", "Bb3-G4", "D5-Bb5", "F4-D5", "B3-G#4"])
def test_sixths_are_easy(models: Models, chord: str) -> None:
    """Forsyth, Orchestration, p. 317: quite easy, no open string."""
    assert _stop(models["violin"], chord).struck.grade <= Grade.USABLE


@pytest.mark.parametrize("chord", ["A3-A4", "B3-B4", "C4-C5", "G4-G5", "B4-B5", "E5-E6"])
def test_octaves_lie_under_first_and_fourth_finger(models: Models, chord: str) -> None:
    """From memory: the frame of the hand, in every position up to the secure height."""
    stop = _stop(models["violin"], chord).struck
    assert stop.grade == Grade.USABLE
    assert [place.finger for place in stop.fingering] == ["1", "4"]


def test_what_is_hard_has_a_reason_that_makes_it_hard(models: Models) -> None:
    merits = {"all-open", "unison-with-open-string", "part-open"}
    student = replace(models["violin"], level="student", secure_semitone=8)
    for model in (*models.values(), student):
        for low in range(min(model.strings), min(model.strings) + 24, 3):
            for interval in range(17):
                stop = solver_for(model).solve([low, low + interval])
                for playing in (stop.struck, stop.broken, stop.plucked):
                    if playing.grade >= Grade.HARD:
                        assert playing.reasons[0].code not in merits, (low, interval)


def test_a_finger_may_lie_across_several_strings(models: Models) -> None:
    """From memory: fifths in a row lie under one finger."""
    fifths = _stop(models["violin"], "A3-E4-B4").struck
    assert fifths.grade == Grade.USABLE
    assert _taken(fifths.fingering) == [(4, 2, "1"), (3, 2, "1"), (2, 2, "1")]
    assert "barred" in {reason.code for reason in fifths.reasons}
    # no finger lies across a string that sounds open
    over_open = _stop(models["violin"], "A3-D4-B4").struck
    assert "barred" not in {reason.code for reason in over_open.reasons}


def test_a_flat_finger_leaves_no_room_to_arch_over_it(models: Models) -> None:
    """Berlioz, djvu/14: extremely difficult when struck."""
    assert _codes(_stop(models["violin"], "D4-G4-D5-B5"))[0] == "over-barre"


def test_a_diminished_fifth_needs_crossed_fingers(models: Models) -> None:
    """Tavan, Méthode pratique, djvu/10."""
    stop = _stop(models["violin"], "B3-F4")
    assert stop.struck.grade == Grade.HARD
    assert _codes(stop)[0] == "crossed-fingers"


@pytest.mark.parametrize(
    ("chord", "code", "physical"),
    [
        ("G3-A3", "one-string-for-two", True),
        ("G3-B3-C#4", "one-string-for-two", True),
        ("F3-D4", "below-lowest-string", True),
        ("G3-D4-A4-E5-B5", "too-many-notes", True),
        ("G3-C7", "strings-apart", False),
        ("G#3-E5", "out-of-reach", False),
        ("A4-E8", "above-fingerboard", False),
    ],
)
def test_why_it_is_impossible(models: Models, chord: str, code: str, physical: bool) -> None:
    stop = _stop(models["violin"], chord)
    assert stop.struck.grade == Grade.IMPOSSIBLE
    assert stop.struck.fingering == ()
    assert [(reason.code, reason.physical) for reason in stop.struck.reasons] == [(code, physical)]


def test_plucking_may_skip_a_string(models: Models) -> None:
    stop = _stop(models["violin"], "G#3-E5")
    assert stop.struck.grade == Grade.IMPOSSIBLE
    assert stop.plucked.grade == Grade.EASY
    assert [place.string for place in stop.plucked.fingering] == [4, 1]


def test_a_broken_chord_lets_the_hand_move(models: Models) -> None:
    stop = _stop(models["violin"], "A3-F4-C5-F#6")
    assert stop.struck.grade == Grade.IMPOSSIBLE
    assert stop.broken.grade == Grade.HARD
    assert stop.broken.reasons[0].code == "hand-must-move"
    assert {place.finger for place in stop.broken.fingering} == {None}


def test_a_chord_that_no_hand_holds_may_be_taken_in_two_pairs(models: Models) -> None:
    """From memory: two strings and then two, fingers set anew where the hand can stay."""
    violin = models["violin"]
    stop = _stop(violin, "C4-F#4-F5-B5")
    assert stop.struck.grade > Grade.HARD
    assert stop.paired.grade == Grade.HARD
    assert stop.paired.reasons[0].code == "set-anew"
    assert all(place.finger for place in stop.paired.fingering)
    # what can be held is not taken apart, and the hand does not leap within a chord
    easy = _stop(violin, "G3-D4-B4-G5")
    assert easy.paired == easy.struck
    assert _stop(violin, "A3-F4-C5-F#6").paired.grade == Grade.IMPOSSIBLE
    dyad = _stop(violin, "A3-C5")
    assert dyad.paired == dyad.struck


def test_what_the_bow_can_do(models: Models) -> None:
    """Tavan, djvu/13: two notes can be held; Rimsky-Korsakov, ch. III: chords want a forte."""
    told = [
        (stop.sustains, stop.wants_forte)
        for stop in (_stop(models["violin"], c) for c in ("D4-A4", "D4-A4-F5", "G3-D4-A4-F5"))
    ]
    assert told == [(True, False), (False, True), (False, True)]


def test_a_fifth_string_adds_layouts(models: Models) -> None:
    four = solver_for(models["double-bass"])
    five = solver_for(models["double-bass-five-strings"])
    assert four.solve([23, 33]).struck.grade == Grade.IMPOSSIBLE
    assert five.solve([23, 33]).struck.grade == Grade.EASY
    assert len(five.ways([31])) == len(four.ways([31])) + 1


def test_limits_are_named(models: Models) -> None:
    frames = tuple(
        replace(frame, limit=f"limit:{frame.low}-{frame.high}") for frame in models["violin"].frames
    )
    model = replace(
        models["violin"], frames=frames, most_stopped=1, limits=(("most_stopped", "limit:count"),)
    )
    reasons = {reason.code: reason.limits for reason in _stop(model, "G#3-A4").struck.reasons}
    assert reasons["stop-count"] == ("limit:count",)
    wide = _stop(replace(model, most_stopped=None), "Ab3-Bb4").struck.reasons
    assert {reason.code: reason.limits for reason in wide}["stretched"] == ("limit:1-4",)


def test_grades_in_order() -> None:
    assert [grade.label for grade in sorted(Grade)] == [
        "easy", "usable", "hard", "impractical", "impossible",
    ]  # fmt: skip
    efforts = (0, 0.5, 1.2, 2, float("inf"))
    assert [grade_of(effort, WEIGHTS) for effort in efforts] == sorted(Grade)


def test_wrong_calls(models: Models) -> None:
    with pytest.raises(OrchqError, match="at least one pitch"):
        solve([], models["violin"])
    with pytest.raises(ValueError, match="lower finger comes first"):
        Frame("4", "1", 70, 80, 90)
    with pytest.raises(ValueError, match="must ascend"):
        Frame("1", "4", 90, 80, 70)
    with pytest.raises(ValueError, match="needs strings"):
        replace(models["violin"], strings=())
