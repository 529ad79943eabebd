"""What is impossible, against an enumeration that shares no code with the solver."""

from itertools import combinations_with_replacement, product

import pytest
from hypothesis import given
from hypothesis import strategies as st

from orchq.derive.hand import Grade, HandModel, solver_for

MAIN = ["violin", "viola", "cello", "double-bass"]


def _place(model: HandModel, height: int) -> float:
    """The shortened string sounds higher as its length shrinks: what is left is L / ratio."""
    ratio = 2 ** (height / 12)
    return model.length_mm - model.length_mm / ratio


def _two_fingers(model: HandModel, low: int, high: int) -> bool:
    distance = _place(model, high) - _place(model, low)
    return any(distance <= frame.widest_mm for frame in model.frames if low >= frame.from_semitone)


def _pairs(model: HandModel, one: int, other: int) -> list[tuple[int, int, int]]:
    """All ways to lay two pitches on two strings: how far apart these are, and the heights."""
    ways = []
    for first, second in product(range(len(model.strings)), repeat=2):
        low, high = one - model.strings[first], other - model.strings[second]
        on_board = 0 <= low <= model.highest_stop and 0 <= high <= model.highest_stop
        if first != second and on_board:
            ways.append((abs(first - second), *sorted((low, high))))
    return ways


@pytest.mark.parametrize("name", MAIN)
def test_every_two_note_set(models: dict[str, HandModel], name: str) -> None:
    model = models[name]
    solver = solver_for(model)
    compass = range(min(model.strings), max(model.strings) + model.highest_stop + 1)
    for one, other in combinations_with_replacement(compass, 2):
        stop = solver.solve([one, other])
        ways = _pairs(model, one, other)
        held = [
            apart
            for apart, low, high in ways
            if low == 0 or (apart == 1 and low == high) or _two_fingers(model, low, high)
        ]
        found = [
            playing.grade == Grade.IMPOSSIBLE
            for playing in (stop.struck, stop.plucked, stop.broken)
        ]
        assert found == [1 not in held, not held, not ways], (one, other)


def _holds(
    model: HandModel,
    layout: list[tuple[int, int]],
    fingers: tuple[str, ...],
    board: list[tuple[int, int]],
) -> bool:
    """Whether these fingers stop these (string, height) places; the board has the open too."""
    frames = {(f.low, f.high): f for f in model.frames if f.from_semitone == 0}
    order = ["T", "1", "2", "3", "4"]
    for finger in set(fingers):
        under = [place for place, used in zip(layout, fingers, strict=True) if used == finger]
        strings, heights = {s for s, _ in under}, {h for _, h in under}
        beneath = [h for s, h in board if min(strings) < s < max(strings)]
        if len(heights) > 1 or any(h < min(heights) for h in beneath):
            return False
    taken = list(zip(layout, fingers, strict=True))
    for (one, first), (other, second) in product(taken, repeat=2):
        if order.index(first) < order.index(second):
            distance = _place(model, other[1]) - _place(model, one[1])
            if distance < 0 or (first, second) not in frames:
                return False
            if distance > frames[first, second].widest_mm:
                return False
    return True


def _can_be_held(model: HandModel, pitches: list[int], *, bowed: bool) -> bool:
    for strings in product(range(len(model.strings)), repeat=len(pitches)):
        if len(set(strings)) < len(strings):
            continue
        if bowed and max(strings) - min(strings) >= len(strings):
            continue
        heights = [pitch - model.strings[s] for pitch, s in zip(pitches, strings, strict=True)]
        if not all(0 <= height <= model.highest_stop for height in heights):
            continue
        board = list(zip(strings, heights, strict=True))
        stopped = [place for place in board if place[1]]
        if any(_holds(model, stopped, f, board) for f in product("1234", repeat=len(stopped))):
            return True
    return False


@given(
    name=st.sampled_from(["violin", "viola"]),
    intervals=st.lists(st.integers(0, 20), min_size=3, max_size=4),
)
def test_three_and_four_notes(
    models: dict[str, HandModel], name: str, intervals: list[int]
) -> None:
    model = models[name]
    # Each note lies somewhere above the open string it is drawn for, so that many shapes fit.
    pitches = [model.strings[-1 - n] + height for n, height in enumerate(intervals)]
    stop = solver_for(model).solve(pitches)
    assert (stop.struck.grade < Grade.IMPOSSIBLE) == _can_be_held(model, pitches, bowed=True)
    assert (stop.plucked.grade < Grade.IMPOSSIBLE) == _can_be_held(model, pitches, bowed=False)
