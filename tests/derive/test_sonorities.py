"""What one player has to take at once: chords, voices, ties, divisi."""

from collections.abc import Sequence
from fractions import Fraction

import pytest

from orchq import load
from orchq.derive.sonorities import Sonority, sonorities
from orchq.derive.states import StateWalk
from orchq.notation import Pitch
from orchq.score import Event, Mark, Note, Part, State
from orchq.terms import oq

KNOWLEDGE = load()
VIOLIN = KNOWLEDGE.instruments[oq("violin").value]


def _event(
    onset: float,
    notes: str,
    duration: float = 1,
    *signs: str,
    voice: str = "1",
    grace: bool = False,
    cue: bool = False,
    state: State | None = None,
    measure: int = 0,
) -> Event:
    """Notes in words: ``~`` behind a pitch ties it on, ``_`` before it ties it back, ``*`` behind
    it is a diamond."""
    iri = f"x:e{onset}.{voice}{'g' if grace else ''}"
    return Event(
        iri=iri,
        measure_index=measure,
        measure_number=str(measure + 1),
        offset=Fraction(onset),
        onset=Fraction(onset),
        duration=Fraction(duration),
        notes=tuple(
            Note(
                f"{iri}.n{place}",
                Pitch.parse(text.strip("_~*")),
                tie_forward=text.endswith("~"),
                tied_back=text.startswith("_"),
                notehead="diamond" if text.endswith("*") else None,
            )
            for place, text in enumerate(notes.split())
        ),
        voice=voice,
        marks=frozenset(oq(sign).value for sign in signs),
        grace=grace,
        cue=cue,
        state=state,
    )


def _mark(onset: int, directive: str, number: int | None = None, staff: int | None = None) -> Mark:
    return Mark(
        iri=f"x:m{onset}.{directive}",
        measure_index=0,
        measure_number="1",
        offset=Fraction(onset),
        onset=Fraction(onset),
        directives=(oq(directive).value,),
        number=number,
        staff=staff,
    )


def _together(
    *events: Event,
    marks: Sequence[Mark] = (),
    section: bool = False,
    players: int | None = None,
) -> list[Sonority]:
    part = Part(
        iri="x:p",
        id="P1",
        index=0,
        name="Violin",
        instrument=VIOLIN.iri,
        section=section,
        players=players,
        events=events,
        marks=tuple(marks),
    )
    placed = list(StateWalk(KNOWLEDGE, VIOLIN, part).walk(1))
    return list(sonorities(part, placed, KNOWLEDGE))


def _names(found: Sequence[Sonority]) -> list[tuple[str, str]]:
    return [(s.event.iri, " ".join(note.pitch.name for note in s.notes)) for s in found]


MOVING = (
    _event(0, "B4", voice="1"),
    _event(0, "D4", 2, voice="2"),
    _event(1, "A4", voice="1"),
)


def test_a_chord_goes_from_the_lowest_note_up() -> None:
    assert _names(_together(_event(0, "G5 G3 B4"))) == [("x:e0.1", "G3 B4 G5")]


def test_single_notes_are_no_sonority() -> None:
    assert _together(_event(0, "G3"), _event(1, "A3")) == []


def test_what_a_soloist_holds_while_the_other_voice_moves_is_told_apart() -> None:
    found = _together(*MOVING)
    assert _names(found) == [("x:e0.2", "D4 B4"), ("x:e1.1", "A4")]
    assert [[note.pitch.name for note in each.held] for each in found] == [[], ["D4"]]
    assert all(each.voices for each in found)


@pytest.mark.parametrize(("section", "players"), [(True, None), (False, 2)])
def test_several_players_share_voices_out(section: bool, players: int | None) -> None:
    assert _together(*MOVING, section=section, players=players) == []


def test_voices_that_start_together_meet_once() -> None:
    found = _together(_event(0, "B4 G5", voice="1"), _event(0, "G3 D4", voice="2"))
    assert _names(found) == [("x:e0.2", "G3 D4 B4 G5")]


def test_a_pitch_of_two_voices_is_one_note() -> None:
    found = _together(_event(0, "D4 B4", voice="1"), _event(0, "D4", voice="2"))
    assert _names(found) == [("x:e0.2", "D4 B4")]


def test_a_pitch_printed_twice_in_one_chord_is_two_notes() -> None:
    assert _names(_together(_event(0, "D4 D4"))) == [("x:e0.1", "D4 D4")]


def test_a_held_note_is_in_hand_until_it_ends() -> None:
    found = _together(
        _event(0, "B4", voice="1"),
        _event(0, "D4", 3, voice="2"),
        _event(2, "A4", 4, voice="1"),
        _event(3, "G4", voice="2"),
    )
    assert [float(length) for length in found[0].lasting] == [3, 1]
    held = [[note.pitch.name for note in each.held] for each in found]
    assert held == [[], ["D4"], ["A4"]]


@pytest.mark.parametrize("last", ["1", "2"])
def test_what_crosses_a_barline_is_still_held(last: str) -> None:
    found = _together(
        _event(0, "A3", voice="1"),
        _event(1, "D4", 2, voice="1"),
        _event(2, "B4", voice=last, measure=1),
        _event(3, "A4", voice="1", measure=2),
        _event(3, "G3", voice="2", measure=2),
    )
    assert _names(found) == [(f"x:e2.{last}", "B4"), ("x:e3.2", "G3 A4")]
    assert [note.pitch.name for note in found[0].held] == ["D4"]


def test_ties_lengthen_and_are_not_taken_again() -> None:
    (found,) = _together(_event(0, "G3 B4~ G5~"), _event(1, "_B4~ _G5", 2), _event(3, "_B4", 0.5))
    assert [float(length) for length in found.lasting] == [1, 3.5, 3]


def test_a_new_note_over_tied_ones_is_taken() -> None:
    found = _together(_event(0, "G3 B4~ G5~"), _event(1, "_B4 _G5 D4"))
    assert _names(found)[1:] == [("x:e1.1", "D4 B4 G5")]


def test_nothing_is_taken_where_only_ties_go_on() -> None:
    """The other voice is held, the tied one goes on: the hand does nothing."""
    found = _together(
        _event(0, "B4~", voice="1"), _event(0, "D4", 2, voice="2"), _event(1, "_B4", voice="1")
    )
    assert _names(found) == [("x:e0.2", "D4 B4")]


def test_a_tie_needs_the_place_where_it_leads() -> None:
    (first, second) = _together(_event(0, "D4~ B4~"), _event(2, "D4 B4"))
    assert first.lasting == second.lasting == (1, 1)


def test_grace_notes_are_chords_by_themselves() -> None:
    found = _together(
        _event(0, "G3 D4", 0, grace=True),
        _event(0, "B4", 2, voice="1"),
        _event(0, "D4", 2, voice="2"),
    )
    assert _names(found) == [("x:e0.1g", "G3 D4"), ("x:e0.2", "D4 B4")]


def test_cues_and_harmonics_are_left_out() -> None:
    assert _together(_event(0, "G3 D4", cue=True)) == []
    assert _together(_event(0, "B3 E4*")) == []
    assert _together(_event(0, "G4 D5", 1, "natural-harmonic")) == []
    assert _together(_event(0, "E4*", voice="1"), _event(0, "B4", voice="2")) == []


def test_an_arpeggio_sign_at_either_voice_breaks_the_chord() -> None:
    assert not _together(_event(0, "G3 D4"))[0].broken
    assert _together(_event(0, "G3 D4", 1, "arpeggiate"))[0].broken
    (found,) = _together(_event(0, "B4", 1, "arpeggiate"), _event(0, "D4", voice="2"))
    assert found.broken


@pytest.mark.parametrize(
    ("marks", "parts", "may_divide"),
    [
        ([], 1, True),
        ([_mark(0, "divisi", 2)], 2, True),
        ([_mark(0, "non-divisi")], 1, False),
        ([_mark(0, "non-divisi", staff=2)], 1, True),
        ([_mark(0, "divisi"), _mark(1, "non-divisi")], 1, False),
        ([_mark(0, "non-divisi"), _mark(1, "divisi")], 2, True),
        ([_mark(0, "non-divisi"), _mark(1, "unison")], 1, True),
        ([_mark(0, "non-divisi"), _mark(1, "final-barline")], 1, True),
        ([_mark(0, "divisi"), _mark(1, "unison")], 1, True),
        ([_mark(0, "solo")], 1, False),
        ([_mark(0, "solo"), _mark(1, "tutti")], 1, True),
    ],
)
def test_who_takes_the_notes(marks: list[Mark], parts: int, may_divide: bool) -> None:
    (found,) = _together(_event(2, "G3 D4 B4"), marks=marks, section=True)
    assert (found.parts, found.may_divide) == (parts, may_divide)


def test_a_soloist_cannot_divide() -> None:
    assert not _together(_event(0, "G3 D4"))[0].may_divide


def test_divisi_leaves_one_note_to_each() -> None:
    chord = _event(0, "G3 D4 B4")
    assert not _together(chord, marks=[_mark(0, "divisi", 3)], section=True)
    assert _together(chord, marks=[_mark(0, "divisi", 2)], section=True)


@pytest.mark.parametrize(("number", "notes"), [(4, "G3 D4 B4 G5"), (4, "G3 D4 B4"), (2, "G3 D4")])
def test_so_many_soloists_have_a_note_each(number: int, notes: str) -> None:
    soli = [_mark(0, "soli", number)]
    assert _together(_event(0, notes), marks=soli, section=True) == []


def test_soli_without_a_number_is_the_section() -> None:
    (found,) = _together(_event(0, "G3 D4"), marks=[_mark(0, "soli")], section=True)
    assert (found.parts, found.may_divide) == (1, True)


def test_two_soloists_with_three_notes_have_a_stop_between_them() -> None:
    (found,) = _together(_event(0, "G3 D4 B4"), marks=[_mark(0, "soli", 2)], section=True)
    assert (found.parts, found.may_divide) == (2, False)


@pytest.mark.parametrize(("said", "may_divide"), [(None, True), (1, False)])
def test_an_asserted_state_says_whether_all_play(said: int | None, may_divide: bool) -> None:
    state = State("x:state", divisi_parts=said)
    (found,) = _together(_event(0, "G3 D4", state=state), section=True)
    assert found.may_divide == may_divide
    divided = State("x:state", divisi_parts=2)
    assert _together(_event(0, "G3 D4", state=divided), section=True) == []
