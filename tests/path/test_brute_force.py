"""The path is the best of all: every path is tried, and the shares of all paths counted."""

from functools import reduce

import numpy as np
from hypothesis import HealthCheck, assume, given, settings
from hypothesis import strategies as st
from msgspec.structs import replace

from orchq.derive.path.moments import Moment
from orchq.derive.path.postures import OPEN, Printed
from orchq.derive.path.search import PathSearch, Step

INSTRUMENTS = ("violin", "viola", "cello", "double-bass")
MOST_PATHS = 400_000
MOMENTS = st.builds(
    Moment,
    since=st.integers(0, 4),
    lasts=st.integers(0, 4),
    rested=st.booleans(),
    slurred=st.booleans(),
    weight=st.integers(0, 2),
    turns=st.booleans(),
    runs=st.booleans(),
    leaps=st.booleans(),
    again=st.booleans(),
)
NOTES = st.tuples(
    st.integers(0, 3),
    st.integers(0, 14),
    st.sampled_from([None, None, OPEN, 1, 2, 3, 4]),
    st.booleans(),
    MOMENTS,
)


def line(search, drawn):
    """Steps for what was drawn: string, height, printed finger, whether the string is printed."""
    steps = []
    for string, height, finger, on_string, moment in drawn:
        pitch = search.table.model.strings[string] + height
        printed = Printed(string if on_string or len(drawn) > 4 else None, finger)
        for each in (printed, printed._replace(finger=None)):
            if search.table.of(((pitch,), (each,))) is not None:
                steps.append(Step(((pitch,), (each,)), moment))
                break
    return steps


def totals(single, moves):
    """The cost of every path, as an array with one axis for each note."""
    count = len(single)
    parts = []
    for place, costs in enumerate(single):
        shape = [1] * count
        shape[place] = len(costs)
        parts.append(costs.reshape(shape))
    for place, move in enumerate(moves):
        shape = [1] * count
        shape[place], shape[place + 1] = move.costs.shape
        parts.append(move.costs.reshape(shape))
    return reduce(np.add, parts)


@given(st.sampled_from(INSTRUMENTS), st.lists(NOTES, min_size=1, max_size=6))
@settings(
    max_examples=120, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture]
)
def test_no_path_is_better(search_on, instrument, drawn):
    search = search_on(instrument)
    steps = line(search, drawn)
    assume(steps)
    sizes = [len(search.postures(step)) for step in steps]
    assume(np.prod(sizes) <= MOST_PATHS)
    single, moves = search.costs(steps)

    plain = PathSearch(search.table.model, replace(search.weights, consensus=0.0))
    every = totals(single, moves)
    np.testing.assert_allclose(every[tuple(plain.path(steps))], every.min(), atol=1e-9)

    shares = np.exp(every.min() - every)
    shares /= shares.sum()
    charged = []
    for place, (costs, step) in enumerate(zip(single, steps, strict=True)):
        axes = tuple(axis for axis in range(len(steps)) if axis != place)
        share = shares.sum(axis=axes)
        rows = search.postures(step).rows
        fingers = [
            sum(s for s, o in zip(share, rows, strict=True) if o.taken == r.taken) for r in rows
        ]
        strings = [
            sum(
                s
                for s, o in zip(share, rows, strict=True)
                if o.taken[0].string == r.taken[0].string
            )
            for r in rows
        ]
        charge = search.weights.consensus if len(steps) > 1 else 0.0
        charged.append(costs + charge * (2 - np.array(fingers) - np.array(strings)))
    best = totals(charged, moves)
    np.testing.assert_allclose(best[tuple(search.path(steps))], best.min(), atol=1e-6)


@given(st.sampled_from(INSTRUMENTS), st.lists(NOTES, min_size=1, max_size=4))
@settings(
    max_examples=60, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture]
)
def test_alternatives_are_the_path_and_the_cheapest_that_differ(search_on, instrument, drawn):
    search = search_on(instrument)
    steps = line(search, drawn)
    assume(steps)
    assume(np.prod([len(search.postures(step)) for step in steps]) <= MOST_PATHS // 20)

    def taken(way):
        return tuple(search.postures(s).rows[row].taken for s, row in zip(steps, way, strict=True))

    every, charged = (totals(*each) for each in (search.costs(steps), search.charged(steps)))
    path = search.path(steps)
    cheapest = {}
    for index in np.ndindex(every.shape):
        label = taken(index)
        if label != taken(path):
            cheapest[label] = min(cheapest.get(label, np.inf), every[index])
    found = search.alternatives(steps, 3)
    costs = [cost for cost, _ in found]
    assert costs == sorted(costs)
    np.testing.assert_allclose(costs, [charged[tuple(way)] for _, way in found], atol=1e-9)
    np.testing.assert_allclose(costs[0], charged[tuple(path)], atol=1e-9)
    others = sorted(every[tuple(way)] for _, way in found if taken(way) != taken(path))
    np.testing.assert_allclose(others, sorted(cheapest.values())[: len(others)], atol=1e-9)
    assert len(found) == min(3, len(cheapest) + 1)
    assert len({taken(way) for _, way in found}) == len(found)


@given(st.sampled_from(INSTRUMENTS), st.lists(NOTES, min_size=2, max_size=6))
@settings(
    max_examples=40, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture]
)
def test_reasons_add_up_to_the_cost(search_on, instrument, drawn):
    search = search_on(instrument)
    steps = line(search, drawn)
    assume(len(steps) > 1)
    path = search.path(steps)
    single, moves = search.costs(steps)
    cost = sum(c[row] for c, row in zip(single, path, strict=True))
    cost += sum(m.costs[a, b] for m, a, b in zip(moves, path, path[1:], strict=False))
    told = search.reasons(steps, path)
    np.testing.assert_allclose(sum(sum(each.values()) for each in told), cost, atol=1e-9)
