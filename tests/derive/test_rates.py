"""Runs: which notes make one, by which stroke, and how fast it goes."""

from decimal import Decimal
from fractions import Fraction

import pytest

from orchq.derive.lines import lines
from orchq.derive.rates import Rates
from orchq.derive.states import StateWalk
from orchq.terms import local_name

from .conftest import KNOWLEDGE, make_event, make_mark, make_part

SCALE = ["A4", "B4", "C#5", "D5", "E5", "D5", "C#5", "B4", "A4", "B4", "C#5", "D5"]


def _runs(circumstances_of, count, length, *words, tempo, slurs=(), signs=(), pitches=SCALE):
    """Stroke, first event and rate of each run that is fast or slow enough to be told."""
    length = Fraction(length)
    events = [make_event(n, (n * length, length, pitches[n]), *signs) for n in range(count)]
    part = make_part(events, [make_mark(0, *words, tempo=tempo)], slurs)
    around = circumstances_of(part)
    walk = StateWalk(KNOWLEDGE, KNOWLEDGE.instruments[part.instrument], part)
    rows = {}
    for quad in Rates(around).quads(lines(part, list(walk.walk(1)), frozenset())):
        rows.setdefault(quad.subject.value, {})[local_name(quad.predicate.value)] = quad.object
    return {
        (
            local_name(row["playsStroke"].value),
            row["atEvent"].value,
            Decimal((row.get("notesPerSecond") or row["mostNotesPerSecond"]).value),
        )
        for row in rows.values()
    }


def test_separate_notes_are_detache(circumstances_of):
    said = _runs(circumstances_of, 8, "1/4", tempo=180)
    assert said == {("detache", "x:e0", Decimal(12))}


def test_slower_than_every_limit_is_not_told(circumstances_of):
    assert _runs(circumstances_of, 8, "1/4", tempo=172) == set()


def test_the_notes_after_the_first_of_a_slur_are_legato(circumstances_of):
    said = _runs(circumstances_of, 9, "1/8", tempo=120, slurs=[(0, 8)])
    assert said == {("legato", "x:e1", Decimal(16))}


def test_a_new_slur_ends_the_run(circumstances_of):
    assert _runs(circumstances_of, 12, "1/8", tempo=120, slurs=[(0, 5), (6, 11)]) == set()


def test_dots_under_a_slur_are_slurred_staccato(circumstances_of):
    said = _runs(circumstances_of, 9, "1/4", tempo=150, slurs=[(0, 8)], signs=["staccato"])
    assert said == {("slurred-staccato", "x:e1", Decimal(10))}


@pytest.mark.parametrize(("count", "told"), [(3, False), (4, True)])
def test_a_stroke_asked_for_needs_four_notes(circumstances_of, count, told):
    said = _runs(circumstances_of, count, "1/4", "martele", tempo=75)
    assert said == ({("martele", "x:e0", Decimal(5))} if told else set())


def test_a_repeated_note_counts_where_the_stroke_is_asked_for(circumstances_of):
    same = ["A4"] * 8
    assert _runs(circumstances_of, 8, "1/4", tempo=180, pitches=same) == set()
    said = _runs(circumstances_of, 8, "1/4", "spiccato", tempo=180, pitches=same)
    assert said == {("spiccato", "x:e0", Decimal(12))}


@pytest.mark.parametrize("sign", ["tremolo-measured", "tremolo-unmeasured", "trill"])
def test_signs_for_many_notes_make_no_run(circumstances_of, sign):
    assert _runs(circumstances_of, 8, "1/4", tempo=200, signs=[sign]) == set()


def test_a_slow_rate_is_taken_at_the_fast_end(circumstances_of):
    """Allegro, 120 to 168 beats, the beat a minim at most: 5.6 quavers at 336 crotchets..."""
    said = _runs(circumstances_of, 4, 1, "sautille", "tempo-allegro", tempo=None)
    assert said == {("sautille", "x:e0", Decimal("5.6"))}
