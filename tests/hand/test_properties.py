"""What must hold of every shape, whoever plays it."""

from collections.abc import Callable
from itertools import pairwise
from typing import Literal

from hypothesis import assume, given
from hypothesis import strategies as st
from msgspec.structs import replace

from orchq.derive.hand import Grade, HandModel, Level, Playing, Stop, solver_for

NAMES = ["violin", "viola", "cello", "double-bass", "double-bass-five-strings"]
Manner = Literal["struck", "plucked", "broken"]
Models = dict[str, HandModel]

instruments = st.sampled_from(NAMES)
manners = st.sampled_from(["struck", "plucked", "broken"])
shapes = st.lists(
    st.tuples(st.integers(0, 3), st.one_of(st.just(0), st.integers(0, 16))),
    min_size=1,
    max_size=4,
    unique_by=lambda place: place[0],
)
"""Places as (string index, height): each has at least one layout, open strings are frequent."""


def _pitches(model: HandModel, shape: list[tuple[int, int]]) -> list[int]:
    return [model.strings[string] + height for string, height in shape]


def _of(stop: Stop, manner: Manner) -> Playing:
    return {"struck": stop.struck, "plucked": stop.plucked, "broken": stop.broken}[manner]


@given(name=instruments, shape=shapes, by=st.integers(-12, 12))
def test_transposing_strings_and_chord_together_changes_nothing(
    models: Models, name: str, shape: list[tuple[int, int]], by: int
) -> None:
    model = models[name]
    higher = replace(model, strings=tuple(opened + by for opened in model.strings))
    here = solver_for(model).solve(_pitches(model, shape))
    there = solver_for(higher).solve(_pitches(higher, shape))
    for manner in ("struck", "plucked", "broken"):
        one, other = _of(here, manner), _of(there, manner)
        assert (one.grade, one.effort) == (other.grade, other.effort)
        assert [replace(p, pitch=p.pitch + by) for p in one.fingering] == list(other.fingering)


@given(name=instruments, shape=shapes, manner=st.sampled_from(["plucked", "broken"]))
def test_removing_a_note_never_makes_a_shape_harder(
    models: Models, name: str, shape: list[tuple[int, int]], manner: Manner
) -> None:
    solver = solver_for(models[name])
    pitches = _pitches(models[name], shape)
    assume(len(pitches) > 1)
    whole = _of(solver.solve(pitches), manner)
    for n in range(len(pitches)):
        fewer = _of(solver.solve(pitches[:n] + pitches[n + 1 :]), manner)
        assert fewer.effort <= whole.effort


@given(name=instruments, shape=shapes)
def test_removing_an_outer_note_never_makes_a_bowed_shape_harder(
    models: Models, name: str, shape: list[tuple[int, int]]
) -> None:
    """Berlioz, djvu/14, says it of good chords; without an inner note the bow skips a string."""
    solver = solver_for(models[name])
    whole = solver.solve(_pitches(models[name], shape)).struck
    assume(len(whole.fingering) > 1)
    across = sorted(whole.fingering, key=lambda place: place.string)
    for kept in (across[1:], across[:-1]):
        assert solver.solve(place.pitch for place in kept).struck.effort <= whole.effort


def test_removing_an_inner_note_can_make_a_bowed_shape_impossible(models: Models) -> None:
    solver = solver_for(models["violin"])
    assert solver.solve([56, 62, 69, 76]).struck.grade == Grade.EASY
    without_inner = solver.solve([56, 76])
    assert without_inner.struck.grade == Grade.IMPOSSIBLE
    assert without_inner.plucked.grade == Grade.EASY


@given(name=instruments, shape=shapes, manner=manners, pick=st.integers(0, 3))
def test_a_stopped_note_moved_onto_an_open_string_is_never_harder(
    models: Models, name: str, shape: list[tuple[int, int]], manner: Manner, pick: int
) -> None:
    """The string that stops the note is retuned to it."""
    model = models[name]
    before = _of(solver_for(model).solve(_pitches(model, shape)), manner)
    stopped = [place for place in before.fingering if not place.open]
    assume(stopped)
    freed = stopped[pick % len(stopped)]
    strings = list(model.strings)
    strings[freed.string - 1] = freed.pitch
    retuned = solver_for(replace(model, strings=tuple(strings)))
    after = _of(retuned.solve(place.pitch for place in before.fingering), manner)
    assert after.effort <= before.effort


@given(name=instruments, shape=shapes)
def test_breaking_is_no_harder_than_plucking_nor_plucking_than_striking(
    models: Models, name: str, shape: list[tuple[int, int]]
) -> None:
    stop = solver_for(models[name]).solve(_pitches(models[name], shape))
    assert stop.broken.effort <= stop.plucked.effort <= stop.struck.effort
    assert stop.broken.effort <= stop.paired.effort <= stop.struck.effort


@given(name=instruments, shape=shapes, manner=manners)
def test_a_better_player_finds_nothing_harder(
    models: Models,
    at_level: Callable[[HandModel, Level], HandModel],
    name: str,
    shape: list[tuple[int, int]],
    manner: Manner,
) -> None:
    pitches = _pitches(models[name], shape)
    efforts = [
        _of(solver_for(at_level(models[name], level)).solve(pitches), manner).effort
        for level in ("soloist", "orchestral", "student")
    ]
    assert efforts == sorted(efforts)


@given(name=instruments, shape=shapes, plucked=st.booleans())
def test_every_way_is_a_way(
    models: Models, name: str, shape: list[tuple[int, int]], plucked: bool
) -> None:
    model = models[name]
    solver = solver_for(model)
    pitches = _pitches(model, shape)
    ways = solver.ways(pitches, plucked=plucked)
    stop = solver.solve(pitches)
    best = stop.plucked if plucked else stop.struck
    assert [way.effort for way in ways[:1]] == (
        [] if best.effort == float("inf") else [best.effort]
    )
    for way in ways:
        assert [place.pitch for place in way.fingering] == sorted(pitches)
        strings = [place.string for place in way.fingering]
        assert len(set(strings)) == len(strings)
        assert plucked or max(strings) - min(strings) == len(strings) - 1
        stopped = sorted((p for p in way.fingering if not p.open), key=lambda p: p.mm)
        hand = [place.finger or "-" for place in stopped]
        assert "-" not in hand
        for low, high in pairwise(stopped):
            if low.semitones < high.semitones:
                assert "T1234".index(low.finger or "") < "T1234".index(high.finger or "")
        for place in way.fingering:
            assert place.pitch == model.strings[place.string - 1] + place.semitones
            assert place.open == (place.finger is None)
