"""Lines: attacks, ties and slurs of one voice."""

from orchq.derive.lines import lines
from orchq.derive.states import StateWalk
from orchq.terms import oq

from .conftest import KNOWLEDGE, make_event, make_part

SIGNS = frozenset({oq("up-bow").value, oq("down-bow").value})


def _line(events, slurs=()):
    part = make_part(events, slurs=slurs)
    walk = StateWalk(KNOWLEDGE, KNOWLEDGE.instruments[part.instrument], part)
    (line,) = lines(part, list(walk.walk(1)), SIGNS)
    return line


def _four(*, signs=()):
    return [make_event(n, (n, 1, "A4"), *(signs if n == 2 else ())) for n in range(4)]


def test_a_tied_note_belongs_to_its_attack():
    events = [make_event(0, (0, 2, "A4")), make_event(1, (2, 3, "A4"), tied=True)]
    line = _line([*events, make_event(2, (5, 1, "B4"))])
    assert [(attack.onset, attack.length) for attack in line.attacks] == [(0, 5), (5, 1)]


def test_a_slur_joins_all_but_its_first_note():
    line = _line(_four(), [(1, 3)])
    assert [attack.joined for attack in line.attacks] == [False, False, True, True]
    (slur,) = line.slurs
    assert (slur.first, slur.last, slur.is_phrase) == (1, 3, False)


def test_a_slur_may_end_on_a_note_tied_back():
    events = [make_event(0, (0, 1, "A4")), make_event(1, (1, 1, "B4"))]
    line = _line([*events, make_event(2, (2, 1, "B4"), tied=True)], [(0, 2)])
    assert [attack.joined for attack in line.attacks] == [False, True]
    assert line.attacks[line.slurs[0].last].end == 3


def test_a_slur_over_slurs_is_a_phrase():
    line = _line(_four(), [(0, 3), (0, 1), (2, 3)])
    phrases = {(slur.first, slur.last) for slur in line.slurs if slur.is_phrase}
    assert phrases == {(0, 3)}


def test_a_slur_over_a_bow_sign_is_a_phrase():
    (slur,) = _line(_four(signs=["up-bow"]), [(0, 3)]).slurs
    assert slur.is_phrase


def test_a_slur_over_a_rest_is_a_phrase():
    events = [make_event(0, (0, 1, "A4")), make_event(1, (2, 1, "B4"))]
    (slur,) = _line(events, [(0, 1)]).slurs
    assert slur.is_phrase


def test_voices_are_lines_of_their_own():
    part = make_part(_four())
    assert len(lines(part, [], SIGNS)) == 0
