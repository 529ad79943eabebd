"""Chords on frets: the hand model takes them as chord books print them."""

import pytest

from orchq.derive.hand import Grade, hand_model, solver_for

# chords-db 0.5.1 (npm @tombatossals/chords-db, MIT), lib/guitar.json: the first position of each
# chord, a fret for each string from the sixth, x for a string that is not plucked.
GUITAR = [
    ("C major", "x 3 2 0 1 0"),
    ("D major", "x x 0 2 3 2"),
    ("E major", "0 2 2 1 0 0"),
    ("F major", "1 3 3 2 1 1"),  # the first finger lies across all six strings
    ("G major", "3 2 0 0 0 3"),
    ("A major", "x 0 2 2 2 0"),
    ("A minor", "x 0 2 2 1 0"),
    ("D minor", "x x 0 2 3 1"),
    ("E minor", "0 2 2 0 0 0"),
    ("B 7", "x 2 1 2 0 2"),
    ("C 7", "x 3 2 3 1 0"),
    ("D 7", "x x 0 2 1 2"),
    ("E 7", "0 2 0 1 0 0"),
    ("G 7", "3 2 0 0 0 1"),
    ("A 7", "x 0 2 0 2 0"),
    ("C maj7", "3 3 2 0 0 0"),
    ("F maj7", "x x 3 2 1 0"),
    ("A m7", "x 0 2 0 1 0"),
    ("E m7", "0 2 2 0 3 0"),
    ("D m7", "x x 0 2 1 1"),
    ("B m7", "2 2 4 2 3 2"),
    ("D sus4", "x x 0 2 3 3"),
    ("A sus4", "x 0 2 2 3 0"),
]

# The same, lib/ukulele.json, from the fourth string.
UKULELE = [
    ("C major", "0 0 0 3"),
    ("D major", "2 2 2 0"),
    ("F major", "2 0 1 0"),
    ("G major", "0 2 3 2"),
    ("A major", "2 1 0 0"),
    ("A minor", "2 0 0 0"),
    ("D minor", "2 2 1 0"),
    ("E minor", "0 4 3 2"),
    ("C 7", "0 0 0 1"),
    ("G 7", "0 2 1 2"),
    ("A 7", "0 1 0 0"),
    ("D 7", "2 2 2 3"),
    ("F maj7", "2 4 1 3"),
]


def _solver(graph, slug):
    instrument = next(i for i in graph.instruments.values() if i.slug == slug)
    return solver_for(hand_model(graph, instrument))


def _shape(solver, frets):
    """Strings with their frets, and what sounds."""
    strings = solver.model.strings
    shape = {
        len(strings) - place: int(fret) for place, fret in enumerate(frets.split()) if fret != "x"
    }
    return shape, [strings[string - 1] + fret for string, fret in shape.items()]


def _taken(playing):
    return {place.string: place.semitones for place in playing.fingering}


@pytest.mark.parametrize(("name", "frets"), GUITAR)
def test_guitar_chords_lie_where_they_are_printed(graph, name, frets):
    solver = _solver(graph, "classical-guitar")
    shape, pitches = _shape(solver, frets)
    plucked = solver.solve(pitches).plucked
    assert _taken(plucked) == shape, name
    assert plucked.grade <= Grade.USABLE


@pytest.mark.parametrize(("name", "frets"), UKULELE)
def test_ukulele_chords_can_be_taken_as_they_are_printed(graph, name, frets):
    # Strings that cross in pitch leave several ways; the printed one is among the usable.
    solver = _solver(graph, "soprano-ukulele")
    shape, pitches = _shape(solver, frets)
    ways = solver.ways(pitches, plucked=True)
    assert shape in [_taken(way) for way in ways if way.grade <= Grade.USABLE], name


@pytest.mark.parametrize(
    ("slug", "pitches", "code"),
    [
        ("classical-guitar", [40, 41], "one-string-for-two"),  # E2 F2: the sixth string only
        ("classical-guitar", [40, 42, 44, 64], "one-string-for-two"),  # three notes on it
        ("classical-guitar", [40, 45, 50, 55, 59, 64, 69], "too-many-notes"),
        ("classical-guitar", [41, 83], "out-of-reach"),  # frets 1 and 19
        ("classical-guitar", [40, 84], "above-fingerboard"),  # C6: a twentieth fret
        ("mandolin", [55, 57], "one-string-for-two"),  # G3 A3: one course is one string
        ("soprano-ukulele", [60, 62], "one-string-for-two"),  # C4 D4: the fourth begins at G4
        ("soprano-ukulele", [59, 64], "below-lowest-string"),
    ],
)
def test_what_no_hand_can_take(graph, slug, pitches, code):
    plucked = _solver(graph, slug).solve(pitches).plucked
    assert plucked.grade is Grade.IMPOSSIBLE
    assert [reason.code for reason in plucked.reasons] == [code]


def test_a_finger_across_the_strings_stops_no_open_string_between(graph):
    # Frets 2 0 2 on the fourth to second strings: one finger would stop the third as well.
    solver = _solver(graph, "classical-guitar")
    fret_two_open_two = [50 + 2, 55, 59 + 2]
    fingers = {
        place.string: place.finger for place in solver.solve(fret_two_open_two).plucked.fingering
    }
    assert fingers[3] is None
    assert fingers[4] != fingers[2]


def test_fingers_pluck_strings_that_do_not_lie_side_by_side(ask):
    [answer] = ask.stops(on="classical guitar", pitches="E2 E4")
    assert answer.plucked.grade == "easy"
    assert [placed.string for placed in answer.plucked.fingering] == [6, 1]
    assert answer.struck.grade != "easy"
