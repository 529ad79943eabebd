"""What still holds, and what may have been forgotten."""

from fractions import Fraction

import pytest
from msgspec.structs import replace

from orchq.derive.changes import Changes
from orchq.derive.staves import Staff, staves_of
from orchq.score import Event, Measure, Part, Score, State
from orchq.terms import oq, slug_of

from .conftest import KNOWLEDGE, make_event, make_mark, make_part

BAR = 4


def _bars(*places: int, signs: dict[int, str] | None = None) -> list[Event]:
    """A quarter note at the beginning of each of these bars."""
    signs = signs or {}
    return [
        replace(
            make_event(bar, (BAR * bar, 1, "A4"), *signs.get(bar, "").split()), measure_index=bar
        )
        for bar in places
    ]


def _marks(words: dict[int, str]):
    return [
        replace(make_mark(BAR * bar, *printed.split()), measure_index=bar)
        for bar, printed in words.items()
    ]


def _staff(part: Part, *others: Part) -> Staff:
    (staff,) = staves_of(Score("x:score", "", (part, *others)), KNOWLEDGE)[part.iri]
    return staff


def _doubtful(staff: Staff) -> list[list[str]]:
    return [sorted(map(slug_of, item.in_force.doubtful)) for item in staff.placed]


def test_what_is_doubtful_is_not_in_force() -> None:
    part = make_part(_bars(0, 1, 2), _marks({0: "sul-ponticello", 1: "tempo-allegro"}))
    staff = _staff(part)
    assert _doubtful(staff) == [[], ["sul-ponticello"], ["sul-ponticello"]]
    assert oq("sul-ponticello").value in staff.placed[0].in_force.techniques
    assert staff.placed[1].in_force.techniques == {oq("arco").value}
    assert staff.placed[1].standing == frozenset()
    (doubt,) = staff.doubts
    assert (slug_of(doubt.ground.iri), doubt.event.iri) == ("doubt-new-tempo", "x:e1")


def test_a_stroke_ends_with_its_passage_and_nobody_is_asked() -> None:
    part = make_part(_bars(0, 1, 2, signs={1: "tremolo-unmeasured"}), _marks({0: "spiccato"}))
    staff = _staff(part)
    assert _doubtful(staff) == [[], ["spiccato"], ["spiccato"]]
    assert staff.doubts == ()


def test_a_stroke_is_meant_where_it_is_printed() -> None:
    part = make_part(_bars(0, 1, signs={0: "tremolo-unmeasured"}), _marks({0: "spiccato"}))
    assert _doubtful(_staff(part)) == [[], []]


def test_a_stroke_printed_anew_is_meant_anew() -> None:
    events = _bars(0, 1, 2, signs={1: "tenuto"})
    part = make_part(events, _marks({0: "spiccato", 2: "spiccato"}))
    assert _doubtful(_staff(part)) == [[], ["spiccato"], []]


def test_a_sign_at_the_note_stands_for_itself() -> None:
    events = _bars(0, 1, 2, signs={1: "tenuto", 2: "staccato"})
    staff = _staff(make_part(events, _marks({0: "staccato"})))
    assert _doubtful(staff) == [[], ["staccato"], []]
    assert oq("staccato").value in staff.placed[2].in_force.techniques


def test_the_bow_is_in_hand_where_a_col_legno_is_forgotten() -> None:
    part = make_part(_bars(0, 1), _marks({0: "col-legno-battuto", 1: "tempo-allegro"}))
    assert _staff(part).placed[1].in_force.techniques == {oq("arco").value}


def test_a_dynamic_does_not_outlive_a_long_rest() -> None:
    staff = _staff(make_part(_bars(0, 8, 17), _marks({0: "ff"})))
    ff = oq("ff").value
    assert [item.in_force.dynamic for item in staff.placed] == [ff, ff, None]
    assert _doubtful(staff) == [[], [], ["ff"]]
    assert staff.doubts == ()


@pytest.mark.parametrize(("length", "doubtful"), [(4, ["sul-tasto"]), (8, [])])
def test_a_held_note_is_no_rest(length: int, doubtful: list[str]) -> None:
    first, last = _bars(0, 9)
    events = [replace(first, duration=Fraction(length)), last]
    measures = tuple(Measure(n, str(n + 1), Fraction(BAR * n), Fraction(BAR)) for n in range(10))
    part = replace(make_part(events, _marks({0: "sul-tasto"})), measures=measures)
    assert _doubtful(_staff(part))[1] == doubtful


@pytest.mark.parametrize(("beats", "doubtful"), [(4, []), (3, ["sul-tasto"])])
def test_a_double_barline_counts_where_the_metre_changes(beats: int, doubtful: list[str]) -> None:
    measures = tuple(
        Measure(n, str(n + 1), Fraction(BAR * n), Fraction(BAR), count, 4)
        for n, count in enumerate((4, beats))
    )
    part = make_part(_bars(0, 1), _marks({0: "sul-tasto", 1: "double-barline"}))
    assert _doubtful(_staff(replace(part, measures=measures)))[1] == doubtful


def test_a_mute_that_may_be_forgotten_is_not_taken_off(circumstances_of) -> None:
    part = make_part(_bars(0, 16), _marks({0: "con-sordino p", 16: "ff"}))
    staff = _staff(part)
    assert _doubtful(staff)[1] == ["con-sordino"]
    assert list(Changes(circumstances_of(part)).found(staff.placed)) == []


def test_states_that_an_excerpt_asserts_are_not_doubted() -> None:
    asserted = State("x:s", frozenset({oq("sul-ponticello").value}))
    events = [replace(event, state=asserted) for event in _bars(0, 1)]
    staff = _staff(make_part(events, _marks({0: "sul-ponticello", 1: "tempo-allegro"})))
    assert _doubtful(staff) == [[], []]
