"""What is repeated: a finger that is down costs a share, an open string the same each time."""

import pytest
from msgspec.structs import replace

from orchq.derive.path import PathSearch
from orchq.derive.path.costs import OPEN_STRINGS, posture_terms
from orchq.derive.path.moments import Moment
from orchq.derive.path.passages import plain_steps
from orchq.derive.path.postures import Printed


@pytest.fixture
def search(search_on):
    return search_on("violin")


def amounts(search, pitch, moment):
    postures = search.table.of(((pitch,), (Printed(),)))
    return search.posture_terms(postures, moment)


def test_only_what_is_said_of_open_strings_is_theirs(search):
    stopped = search.table.of(((57,), (Printed(),)))
    moment = Moment(lasts=4, weight=2, turns=True, rested=True)
    terms = posture_terms(search.table.board, stopped, moment)
    assert terms.keys() >= OPEN_STRINGS
    assert not any(terms[name].any() for name in OPEN_STRINGS)
    assert {name for name in terms if name.startswith("open-string")} == OPEN_STRINGS


def test_a_finger_that_is_down_costs_a_share(search):
    first, again = (amounts(search, 69, Moment(lasts=4, again=each)) for each in (False, True))
    share = search.weights.repeated
    assert 0 < share < 1
    for name, amount in first.items():
        expected = amount if name in OPEN_STRINGS else share * amount
        assert again[name] == pytest.approx(expected)


def test_without_a_share_a_repeated_note_costs_the_same(search):
    plain = PathSearch(search.table.model, replace(search.weights, repeated=1.0))
    first, again = (amounts(plain, 76, Moment(again=each)) for each in (False, True))
    assert all((again[name] == first[name]).all() for name in first)


def test_a_line_says_where_it_turns_runs_leaps_and_repeats(search):
    moments = [step.moment for step in plain_steps((62, 64, 66, 59, 64, 64), search.weights)]
    assert [moment.turns for moment in moments] == [False, False, True, True, False, False]
    assert [moment.runs for moment in moments] == [False, True, False, False, False, False]
    assert [moment.leaps for moment in moments] == [False, False, False, True, False, False]
    assert [moment.again for moment in moments] == [False] * 5 + [True]
