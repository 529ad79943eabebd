"""Seconds from tempo marks: figures, words, returns, and what stays unknown."""

from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from orchq.derive.clock import UNKNOWN, Clock, Tempo, tempo_bands, tempo_map
from orchq.score import Mark, Part, Score

from .conftest import KNOWLEDGE, make_mark


def _clock(*parts: list[Mark]) -> Clock:
    score = Score(
        "x:score",
        "",
        tuple(
            Part(f"x:p{index}", f"P{index}", index, "", None, marks=tuple(marks))
            for index, marks in enumerate(parts)
        ),
    )
    return tempo_map(score, KNOWLEDGE)


def _tempo(clock: Clock, onset: int) -> tuple[Fraction | None, Fraction | None]:
    tempo = clock.tempo(Fraction(onset))
    return tempo.slowest, tempo.fastest


def test_a_metronome_mark_gives_seconds():
    span = _clock([make_mark(0, tempo=90)]).span(Fraction(3), Fraction(6))
    assert (span.least, span.most) == (2, 2)
    assert (span.slow_tempo, span.fast_tempo) == (None, None)


def test_a_dotted_beat_is_counted_in_quarters():
    """A dotted crotchet at 60 is 90 quarters a minute: six quavers last two seconds."""
    clock = _clock([make_mark(0, tempo=Fraction(3, 2) * 60)])
    assert clock.span(Fraction(0), Fraction(3)).most == 2


def test_without_a_tempo_there_are_no_seconds():
    span = _clock([]).span(Fraction(0), Fraction(4))
    assert (span.least, span.most) == (None, None)


def test_before_the_first_tempo_there_are_no_seconds():
    clock = _clock([make_mark(4, tempo=60)])
    assert clock.span(Fraction(0), Fraction(8)).most is None
    assert clock.span(Fraction(4), Fraction(8)).most == 4


def test_a_span_adds_up_over_changes_of_tempo():
    clock = _clock([make_mark(0, tempo=60), make_mark(4, tempo=120), make_mark(8, tempo=30)])
    assert clock.span(Fraction(2), Fraction(10)).most == 2 + 2 + 4


def test_marks_of_all_parts_count():
    clock = _clock([make_mark(0, tempo=60)], [make_mark(4, tempo=120)])
    assert clock.span(Fraction(0), Fraction(8)).most == 4 + 2


def test_a_figure_counts_before_the_word_beside_it():
    clock = _clock([make_mark(0, "tempo-allegro")], [make_mark(0, tempo=66)])
    assert _tempo(clock, 0) == (66, 66)
    assert not clock.tempo(Fraction(0)).assumed


def test_a_word_stands_for_its_band():
    """Allegro, 120 to 168 beats; the beat is a crotchet at least, a minim at most."""
    clock = _clock([make_mark(0, "tempo-allegro")])
    assert _tempo(clock, 0) == (120, 336)
    span = clock.span(Fraction(0), Fraction(4))
    assert (span.most, span.slow_tempo, span.fast_tempo) == (2, 120, 336)


def test_slow_words_may_count_quavers():
    """Adagio, 55 to 76 beats."""
    assert _tempo(_clock([make_mark(0, "tempo-adagio")]), 0) == (Fraction(55, 2), 152)


def test_two_words_join_their_bands():
    """Andante quasi allegretto: 76 to 108 and 100 to 120 beats."""
    clock = _clock([make_mark(0, "tempo-andante", "tempo-allegretto")])
    assert _tempo(clock, 0) == (38, 240)


@pytest.mark.parametrize("word", ["ritardando", "ritenuto", "accelerando", "rubato"])
def test_gradual_changes_leave_the_seconds_alone(word):
    assert _tempo(_clock([make_mark(0, tempo=100), make_mark(4, f"tempo-{word}")]), 8) == (100, 100)


def test_faster_and_slower_without_a_figure_open_one_end():
    clock = _clock([make_mark(0, tempo=100), make_mark(4, "tempo-piu-mosso")])
    assert _tempo(clock, 4) == (100, None)
    clock = _clock([make_mark(0, tempo=100), make_mark(4, "tempo-meno-mosso")])
    assert _tempo(clock, 4) == (None, 100)


def test_a_tempo_leads_back_to_the_last_tempo_stated():
    marks = [make_mark(0, tempo=100), make_mark(4, tempo=60), make_mark(8, "tempo-piu-mosso")]
    assert _tempo(_clock([*marks, make_mark(12, "tempo-a-tempo")]), 12) == (60, 60)


def test_first_tempo_leads_back_to_the_first_of_the_movement():
    marks = [make_mark(0, tempo=100), make_mark(4, tempo=60), make_mark(8, "tempo-primo")]
    assert _tempo(_clock(marks), 8) == (100, 100)
    later = [make_mark(9, "final-barline"), make_mark(9, tempo=50), make_mark(12, tempo=70)]
    assert _tempo(_clock([*marks, *later, make_mark(16, "tempo-primo")]), 16) == (50, 50)


def test_a_movement_takes_its_tempo_along():
    clock = _clock([make_mark(0, tempo=100), make_mark(8, "final-barline")])
    assert clock.tempo(Fraction(7)) == Tempo(Fraction(100), Fraction(100))
    assert clock.tempo(Fraction(8)) == UNKNOWN


@pytest.mark.parametrize("word", ["l-istesso-tempo", "doppio-movimento", "secondo"])
def test_where_the_beat_is_not_known_nothing_is_said(word):
    assert _tempo(_clock([make_mark(0, tempo=100), make_mark(4, f"tempo-{word}")]), 4) == (
        None,
        None,
    )


def test_every_word_that_names_a_tempo_has_a_band_in_order():
    bands = tempo_bands(KNOWLEDGE).values()
    named = [(band.slowest, band.fastest) for band in bands if band.slowest is not None]
    assert len(named) > 10
    assert all(fast is not None and 0 < slow < fast for slow, fast in named)


_PLACES = st.fractions(min_value=0, max_value=40, max_denominator=12)
_TEMPI = st.lists(st.tuples(_PLACES, st.integers(20, 300)), min_size=1, max_size=6)


@given(_TEMPI, st.lists(_PLACES, min_size=3, max_size=3))
def test_spans_add_up(tempi, places):
    first, middle, last = sorted(places)
    marks = sorted([(Fraction(0), 60), *tempi])
    clock = Clock((onset, Tempo(Fraction(t), Fraction(t))) for onset, t in marks)
    parts = clock.span(first, middle).most, clock.span(middle, last).most
    assert clock.span(first, last).most == sum(parts)


@given(st.integers(20, 300), st.integers(20, 300), _PLACES)
def test_the_least_time_is_no_more_than_the_most(one, other, end):
    slow, fast = sorted((one, other))
    clock = Clock([(Fraction(0), Tempo(Fraction(slow), Fraction(fast), "x:word"))])
    span = clock.span(Fraction(0), end)
    assert span.least <= span.most
