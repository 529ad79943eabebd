"""The time at hand for each change, in seconds."""

from decimal import Decimal

import pytest

from orchq.derive.changes import Changes
from orchq.derive.states import StateWalk
from orchq.notation import Pitch
from orchq.score import Mark
from orchq.terms import local_name

from .conftest import KNOWLEDGE, make_event, make_mark, make_part

FIRST, LAST = make_event(1, (0, 1, "A4")), make_event(2, (3, 1, "B4"))


def _changes(circumstances_of, events, marks, **kind):
    """What is changed into, at which event, with how many seconds."""
    part = make_part(events, [make_mark(0, tempo=60), *marks], **kind)
    walk = StateWalk(KNOWLEDGE, KNOWLEDGE.instruments[part.instrument], part)
    rows = {}
    for quad in Changes(circumstances_of(part)).quads(list(walk.walk(1))):
        rows.setdefault(quad.subject.value, {})[local_name(quad.predicate.value)] = quad.object
    return {
        (
            local_name(row["changesInto"].value),
            row["atEvent"].value,
            Decimal(row["secondsAtHand"].value),
        )
        for row in rows.values()
    }


@pytest.mark.parametrize(("before", "after"), [("pizzicato", "arco"), ("arco", "pizzicato")])
def test_between_plucking_and_the_bow_attacks_count(circumstances_of, before, after):
    marks = [make_mark(0, before), make_mark(3, after)]
    assert _changes(circumstances_of, [FIRST, LAST], marks) == {(after, "x:e2", Decimal(3))}


def test_a_tied_note_is_attacked_once(circumstances_of):
    events = [FIRST, make_event(3, (1, 2, "A4"), tied=True), LAST]
    marks = [make_mark(3, "pizzicato")]
    assert _changes(circumstances_of, events, marks) == {("pizzicato", "x:e2", Decimal(3))}


@pytest.mark.parametrize(
    ("before", "after"), [("senza-sordino", "con-sordino"), ("con-sordino", "senza-sordino")]
)
def test_for_the_mute_the_rest_counts(circumstances_of, before, after):
    marks = [make_mark(0, before), make_mark(3, after)]
    assert _changes(circumstances_of, [FIRST, LAST], marks) == {(after, "x:e2", Decimal(2))}


def test_the_longest_of_notes_sounding_together_ends_last(circumstances_of):
    events = [FIRST, make_event(3, (0, 2, "E5")), LAST]
    marks = [make_mark(3, "con-sordino")]
    assert _changes(circumstances_of, events, marks) == {("con-sordino", "x:e2", Decimal(1))}


def test_two_changes_at_once_are_two_facts(circumstances_of):
    marks = [make_mark(0, "con-sordino"), make_mark(3, "senza-sordino", "pizzicato")]
    assert _changes(circumstances_of, [FIRST, LAST], marks) == {
        ("senza-sordino", "x:e2", Decimal(2)),
        ("pizzicato", "x:e2", Decimal(3)),
    }


def test_retuning_has_the_rest_before_it(circumstances_of):
    mark = Mark("x:m", 0, "1", LAST.offset, LAST.onset, retuned=((4, Pitch.parse("F3")),))
    assert _changes(circumstances_of, [FIRST, LAST], [mark]) == {("scordatura", "x:e2", Decimal(2))}


@pytest.mark.parametrize("word", ["final-barline", "tempo-fermata", "desk-by-desk"])
def test_time_that_is_not_measured_is_not_told(circumstances_of, word):
    marks = [make_mark(2, word), make_mark(2, tempo=60), make_mark(3, "con-sordino")]
    assert _changes(circumstances_of, [FIRST, LAST], marks) == set()


def test_a_fermata_on_the_note_before_leaves_the_time_open(circumstances_of):
    marks = [make_mark(0, "tempo-fermata"), make_mark(3, "con-sordino")]
    assert _changes(circumstances_of, [FIRST, LAST], marks) == set()


@pytest.mark.parametrize(("tied", "seconds"), [(True, 1), (False, 0)])
def test_a_word_under_a_note_that_goes_on_waits_for_its_end(circumstances_of, tied, seconds):
    events = [FIRST, make_event(3, (1, 1, "A4"), tied=tied), LAST]
    told = "x:e2" if tied else "x:e3"
    marks = [make_mark(1, "con-sordino")]
    assert _changes(circumstances_of, events, marks) == {("con-sordino", told, Decimal(seconds))}


def test_where_a_section_divides_nothing_is_told(circumstances_of):
    marks = [make_mark(3, "divisi", "pizzicato")]
    assert _changes(circumstances_of, [FIRST, LAST], marks, section=True) == set()


def test_voices_that_differ_tell_nothing(circumstances_of):
    """A plucked and a bowed note begin together: two players, or the left hand."""
    events = [FIRST, make_event(3, (3, 1, "D4"), "snap-pizzicato"), LAST]
    assert _changes(circumstances_of, events, []) == set()
