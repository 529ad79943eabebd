"""Difficulty grows with speed and with notes, and says why."""

import json
from fractions import Fraction

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from msgspec.structs import replace

import orchq
from orchq.derive.path import difficulty_of, hardest_usual
from orchq.notation import Pitch
from orchq.report.difficulty_report import difficulty_json, difficulty_text
from orchq.score import Event, Mark, Measure, Note, Part, Score
from orchq.terms import OQ

PITCHES = st.lists(st.integers(55, 90), min_size=1, max_size=3, unique=True)
NOTES = st.lists(
    st.tuples(PITCHES, st.sampled_from([Fraction(1, 4), Fraction(1, 2), Fraction(1)])),
    min_size=2,
    max_size=10,
)
QUIET = settings(
    max_examples=20, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture]
)


def score_of(drawn, tempo=90, instrument="violin"):
    """Two measures or more of four quarter notes, filled from the beginning."""
    events, onset = [], Fraction(0)
    for place, (pitches, length) in enumerate(drawn):
        index = int(onset // 4)
        iri = f"score:P1.m{index}.v1.{place}"
        notes = tuple(
            Note(f"{iri}.n{n}", Pitch.from_midi(p)) for n, p in enumerate(sorted(pitches), 1)
        )
        events.append(Event(iri, index, str(index + 1), onset - 4 * index, onset, length, notes))
        onset += length
    measures = tuple(Measure(i, str(i + 1), Fraction(4 * i), Fraction(4)) for i in range(8))
    mark = Mark("score:tempo", 0, "1", Fraction(0), Fraction(0), tempo=Fraction(tempo))
    part = Part(
        "score:P1", "P1", 0, "Violin", OQ + instrument, measures=measures, events=tuple(events),
        marks=(mark,),
    )  # fmt: skip
    return Score("score:", "line", (part,))


@pytest.fixture
def hardness(knowledge):
    def measure(score):
        [part] = difficulty_of(score, knowledge)
        return part

    return measure


@given(NOTES, st.integers(40, 160), st.integers(0, 80))
@QUIET
def test_faster_is_never_easier(hardness, drawn, tempo, more):
    slow, fast = (hardness(score_of(drawn, each)) for each in (tempo, tempo + more))
    assert fast.score >= slow.score - 1e-6
    for one, other in zip(slow.measures, fast.measures, strict=True):
        assert other.score >= one.score - 1e-6


@given(NOTES)
@QUIET
def test_without_the_last_note_the_rest_is_never_harder(hardness, drawn):
    score = score_of(drawn)
    [part] = score.parts
    shorter = replace(score, parts=(replace(part, events=part.events[:-1]),))
    whole, rest = hardness(score), hardness(shorter)
    assert rest.score <= whole.score + 1e-6
    assert rest.grade.rank <= whole.grade.rank
    scores = {each.index: each.score for each in whole.measures}
    assert all(each.score <= scores[each.index] + 1e-6 for each in rest.measures)


def line(*pitches, length=Fraction(1)):
    return [([Pitch.parse(pitch).midi], length) for pitch in pitches]


def test_what_makes_a_measure_hard_is_named(hardness):
    fast = Fraction(1, 8)
    leaps = hardness(score_of(line("A3", "E7", "A3", "E7", length=Fraction(1, 4)), 120))
    high = hardness(score_of(line("A6", "B6", "A6", "B6")))
    stops = hardness(score_of([([62, 71], Fraction(1)), ([64, 72], Fraction(1))]))
    quick = hardness(score_of(line(*["A4", "B4"] * 16, length=fast), 120))
    assert leaps.measures[0].demands[0][0] == "shift"
    assert high.measures[0].demands[0][0] == "height"
    assert stops.measures[0].demands[0][0] == "stops"
    assert quick.measures[0].demands[0][0] in {"speed", "bow"}


def test_scale_goes_from_student_to_soloist(hardness):
    """A slow tune in first position, and tenths in sixteenths at speed (common practice)."""
    tune = hardness(score_of(line("D4", "E4", "F#4", "G4"), 60))
    tenths = [([57 + n, 73 + n], Fraction(1, 4)) for n in (0, 5, 2, 7, 4, 9, 5, 10)]
    assert tune.grade.rank == 1
    assert hardness(score_of(tenths, 144)).grade.label == "soloist"


def test_grades_are_ordered_and_begin_at_nothing(hardness):
    part = hardness(score_of(line("D4", "E4")))
    assert part.score == max(each.score for each in part.measures)
    assert part.hardest(1) == (part.measures[0],)
    assert sum(share for _, share in part.measures[0].demands) == pytest.approx(1)


def test_report_names_the_hardest_measures(knowledge):
    parts = orchq.difficulty(orchq.demo_path(), knowledge=knowledge)
    text = difficulty_text(parts)
    for part in parts:
        assert part.name in text
        assert f"measure {part.hardest(1)[0].number:>4}" in text
    read = json.loads(difficulty_json(parts))
    assert [each["grade"] for each in read["parts"]] == [part.grade.label for part in parts]
    assert difficulty_text(()) == "no part has notes for a hand that the graph describes\n"
    assert difficulty_text(parts, unicode=False).isascii()


def test_better_players_are_usually_asked_for_harder_grades(knowledge):
    levels = ("student", "orchestral", "soloist")
    grades = [hardest_usual(knowledge, OQ + level) for level in levels]
    assert [each.label for each in grades] == ["student", "orchestral player", "soloist"]
    assert grades[0].score < grades[1].score < grades[2].score
