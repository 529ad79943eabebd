"""What is in force where: marks walked through in time."""

from fractions import Fraction

import pytest

from orchq.derive.placed import Placed
from orchq.derive.states import StateWalk
from orchq.notation import Pitch
from orchq.score import Event, Hairpin, Mark, Part
from orchq.terms import local_name, oq

from .conftest import KNOWLEDGE, make_event, make_mark

VIOLIN = KNOWLEDGE.instruments[oq("violin").value]


def _event(onset: int, *marks: str, duration: int = 1) -> Event:
    return make_event(onset, (onset, duration, "A4"), *marks)


def _walk(
    events: list[Event], marks: list[Mark], hairpins: tuple[Hairpin, ...] = ()
) -> list[Placed]:
    part = Part(
        iri="x:p",
        id="P1",
        index=0,
        name="Violin",
        instrument=VIOLIN.iri,
        events=tuple(events),
        marks=tuple(marks),
        hairpins=hairpins,
    )
    return list(StateWalk(KNOWLEDGE, VIOLIN, part).walk(1))


def _techniques(placed: Placed) -> set[str]:
    return {local_name(iri) for iri in placed.in_force.techniques}


def _dynamics(placed: list[Placed]) -> list[str | None]:
    return [p.in_force.dynamic and local_name(p.in_force.dynamic) for p in placed]


FOUR = [_event(n) for n in range(4)]


@pytest.mark.parametrize(
    ("marks", "in_force"),
    [
        ([], [{"arco"}] * 4),
        (
            [make_mark(1, "pizzicato"), make_mark(3, "arco")],
            [{"arco"}, {"pizzicato"}, {"pizzicato"}, {"arco"}],
        ),
        (
            [make_mark(0, "sul-ponticello"), make_mark(2, "ordinario")],
            [{"arco", "sul-ponticello"}, {"arco", "sul-ponticello"}, {"arco"}, {"arco"}],
        ),
        (
            [make_mark(0, "sul-ponticello"), make_mark(1, "sul-tasto")],
            [{"arco", "sul-ponticello"}, *[{"arco", "sul-tasto"}] * 3],
        ),
        (
            [make_mark(0, "sul-ponticello"), make_mark(0, "sul-tasto")],
            [{"arco", "sul-ponticello", "sul-tasto"}] * 4,
        ),
        (
            [make_mark(0, "con-sordino"), make_mark(2, "senza-sordino")],
            [{"arco", "con-sordino"}, {"arco", "con-sordino"}],
        ),
        (
            [make_mark(0, "pizzicato"), make_mark(2, "final-barline")],
            [{"pizzicato"}, {"pizzicato"}, {"arco"}],
        ),
    ],
)
def test_words_hold_until_cancelled(marks: list[Mark], in_force: list[set[str]]) -> None:
    found = [_techniques(placed) for placed in _walk(FOUR, marks)]
    assert found[: len(in_force)] == in_force


def test_a_sign_at_the_note_holds_for_it_alone() -> None:
    events = [_event(0), _event(1, "snap-pizzicato"), _event(2)]
    placed = _walk(events, [make_mark(0, "spiccato")])
    assert [_techniques(p) for p in placed] == [
        {"arco", "spiccato"},
        {"snap-pizzicato"},
        {"arco", "spiccato"},
    ]


def test_a_bow_sign_contradicts_a_pizzicato_and_does_not_end_it() -> None:
    placed = _walk([_event(0), _event(1, "down-bow")], [make_mark(0, "pizzicato")])
    assert _techniques(placed[1]) == {"pizzicato"}
    assert placed[1].bow_signs == {oq("down-bow").value}


@pytest.mark.parametrize(
    ("marks", "hairpins", "dynamics"),
    [
        ([], (), [None] * 4),
        ([make_mark(0, "p"), make_mark(2, "f")], (), ["p", "p", "f", "f"]),
        (
            [make_mark(0, "p"), make_mark(1, "crescendo"), make_mark(3, "f")],
            (),
            ["p", None, None, "f"],
        ),
        (
            [make_mark(0, "p"), make_mark(2, "f")],
            (Hairpin("x:h", True, Fraction(0), Fraction(2)),),
            ["p", None, "f", "f"],
        ),
        (
            [make_mark(0, "p")],
            (Hairpin("x:h", True, Fraction(1), Fraction(2)),),
            ["p", "p", None, None],
        ),
        ([make_mark(0, "p"), make_mark(1, "sfz")], (), ["p", None, "p", "p"]),
        ([make_mark(0, "f"), make_mark(1, "fp")], (), ["f", None, "p", "p"]),
    ],
)
def test_dynamics(
    marks: list[Mark], hairpins: tuple[Hairpin, ...], dynamics: list[str | None]
) -> None:
    assert _dynamics(_walk(FOUR, marks, hairpins)) == dynamics


def test_a_string_call_ends_with_a_rest() -> None:
    events = [_event(0), _event(1), _event(3)]
    placed = _walk(events, [make_mark(0, "on-g-string")])
    calls = [p.in_force.string_call for p in placed]
    assert calls == [oq("on-g-string").value, oq("on-g-string").value, None]


def test_divisi_counts_parts_until_unison() -> None:
    placed = _walk(FOUR, [make_mark(0, "divisi", number=3), make_mark(2, "unison")])
    assert [p.in_force.parts for p in placed] == [3, 3, None, None]


@pytest.mark.parametrize(
    ("marks", "returned"),
    [
        ([make_mark(0, "pizzicato"), make_mark(2, "arco")], True),
        ([make_mark(0, "pizzicato")], False),
        ([make_mark(0, "pizzicato"), make_mark(2, "pizzicato")], False),
    ],
)
def test_a_plucked_passage_knows_whether_arco_ends_it(marks: list[Mark], returned: bool) -> None:
    first = _walk(FOUR, marks)[0].plucked_passage
    assert first is not None
    assert first.returned is returned


def test_retuning_changes_the_strings_from_its_place_on() -> None:
    mark = Mark("x:m", 0, "1", Fraction(2), Fraction(2), retuned=((4, Pitch.parse("F3")),))
    placed = _walk(FOUR, [mark])
    assert [p.in_force.strings[3].pitch.name for p in placed] == ["G3", "G3", "F3", "F3"]


def test_a_circle_over_an_open_string_asks_for_the_open_string() -> None:
    """The small circle is the sign of both; a string's own pitch is no harmonic of it."""
    placed = _walk([_event(0, "natural-harmonic")], [])
    assert _techniques(placed[0]) == {"arco", "open-string"}
