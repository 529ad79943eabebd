"""Where an arco is missing, what follows is taken to be bowed."""

import pytest

from orchq.derive.placed import Placed
from orchq.derive.staves import staves_of
from orchq.score import Event, Score
from orchq.terms import oq, slug_of

from .conftest import KNOWLEDGE, make_event, make_mark, make_part

COUNT = 12


def _notes(signs: dict[int, str] | None = None) -> list[Event]:
    signs = signs or {}
    return [make_event(n, (n, 1, "A4"), *signs.get(n, "").split()) for n in range(COUNT)]


def _believed(
    events: list[Event], slurs: list[tuple[int, int]] | None = None, arco: int | None = None
) -> list[Placed]:
    marks = [make_mark(0, "pizzicato"), *([make_mark(arco, "arco")] if arco else [])]
    part = make_part(events, marks, slurs or [])
    (staff,) = staves_of(Score("x:score", "", (part,)), KNOWLEDGE)[part.iri]
    return list(staff.placed)


def _plucked(placed: list[Placed]) -> list[int]:
    return [
        n for n, item in enumerate(placed) if "pizzicato" in map(slug_of, item.in_force.techniques)
    ]


SLURS = [(2 * n + 1, 2 * n + 2) for n in range(int(KNOWLEDGE.judged("signs-of-missing-arco")))]


@pytest.mark.parametrize(
    ("slurs", "arco", "plucked"),
    [
        ([], None, 12),
        ([], 10, 10),
        (SLURS[:1], None, 1),
        (SLURS[:-1], 10, 10),
        (SLURS, 10, 1),
    ],
    ids=[
        "plucked to the end",
        "ended by arco",
        "never ended",
        "a stray slur or two before the arco",
        "the arco comes after many slurs",
    ],
)
def test_slurs_tell_that_the_bow_is_in_hand(
    slurs: list[tuple[int, int]], arco: int | None, plucked: int
) -> None:
    placed = _believed(_notes(), slurs, arco)
    assert _plucked(placed) == list(range(plucked))
    assert [item.arco_missing for item in placed] == [
        plucked <= n < (arco or COUNT) for n in range(COUNT)
    ]


def test_the_bow_sign_is_then_played() -> None:
    placed = _believed(_notes({3: "tremolo-unmeasured"}))
    assert _plucked(placed) == [0, 1, 2]
    assert {"arco", "tremolo-unmeasured"} == set(map(slug_of, placed[3].in_force.techniques))


def test_a_plucking_sign_is_believed_all_the_same() -> None:
    placed = _believed(_notes({3: "down-bow", 5: "snap-pizzicato"}))
    assert _plucked(placed) == [0, 1, 2, 5]


def test_what_is_not_believed_does_not_hold_on() -> None:
    placed = _believed(_notes({3: "down-bow"}))
    pizzicato = oq("pizzicato").value
    assert [pizzicato in item.standing for item in placed] == [n < 3 for n in range(COUNT)]
