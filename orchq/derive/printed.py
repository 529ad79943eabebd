"""Printed instructions that cannot be read or followed: clefs, contradictions, too few players."""

from collections import defaultdict
from collections.abc import Iterator, Sequence
from fractions import Fraction

from pyoxigraph import Literal, NamedNode, Quad

from orchq.derive.ledger_lines import ledger_quads
from orchq.derive.placed import Placed
from orchq.derive.states import ARCO, DIVISI, NON_DIVISI, SOLI, UNISON
from orchq.derive.staves import Staff
from orchq.knowledge import Knowledge
from orchq.knowledge.lexicon import words_of
from orchq.score import Mark
from orchq.terms import oq

_AMONG_THE_CALLED = frozenset({DIVISI, UNISON, NON_DIVISI})
"""Calls addressed to the players called before; any other addresses different players."""


def printed_quads(staff: Staff) -> Iterator[Quad]:
    """Yield the triples about printed instructions on a staff, each about an event."""
    number = staff.number
    marks = sorted(
        (mark for mark in staff.part.marks if mark.staff in (None, number)),
        key=lambda mark: mark.onset,
    )
    yield from _clefs(staff, marks)
    yield from _pluck_and_bow(staff, marks)
    yield from _players(staff, marks)


def _of_kind(knowledge: Knowledge, mark: Mark, kind: str) -> list[str]:
    """The directives (IRIs) of a kind that a mark prints."""
    known = knowledge.directives
    return [iri for iri in mark.directives if iri in known and kind in known[iri].kinds]


# ------------------------------------------------------------------------------ clefs


def _clefs(staff: Staff, marks: Sequence[Mark]) -> Iterator[Quad]:
    """Yield the clefs that the players do not read, at the first event, and notes high above."""
    read = staff.around.instrument.clefs
    if not read:
        return
    printed = [
        (mark, iri)
        for mark in marks
        for iri in _of_kind(staff.knowledge, mark, "ClefSign")
        if staff.knowledge.directives[iri].clef
    ]
    yield from ledger_quads(staff, printed)
    clefs = [(mark.onset, iri) for mark, iri in printed]
    before: str | None = None
    place = 0
    clef: str | None = None
    for item in staff.placed:
        while place < len(clefs) and clefs[place][0] <= item.event.onset:
            clef = clefs[place][1]
            place += 1
        if clef != before and clef and staff.knowledge.directives[clef].clef not in read:
            yield Quad(NamedNode(item.event.iri), oq("opensUnreadClef"), NamedNode(clef))
        before = clef


# --------------------------------------------------------------------- pluck and bow


def _pluck_and_bow(staff: Staff, marks: Sequence[Mark]) -> Iterator[Quad]:
    """Yield single notes with one word for plucking and another for the bow printed over them.

    Words that add something, such as who plucks, are ignored, and so are events of several notes,
    which may be divided.
    """
    words: dict[Fraction, set[str]] = defaultdict(set)
    for mark in marks:
        if len(mark.directives) == 1 and len(words_of(mark.text)) == 1:
            words[mark.onset] |= set(mark.directives)
    bowed = [onset for onset, printed in words.items() if ARCO in printed]
    if not bowed:
        return
    together: dict[Fraction, list[Placed]] = defaultdict(list)
    for item in staff.placed:
        together[item.event.onset].append(item)
    for onset in bowed:
        plucked = sorted(
            iri for iri in words[onset] if "PluckedTechnique" in staff.around.kinds(iri)
        )
        items = together.get(onset, [])
        if not plucked or len(items) != 1 or items[0].in_force.parts is not None:
            continue
        if len(items[0].event.notes) == 1:
            event = NamedNode(items[0].event.iri)
            yield Quad(event, oq("asksToPluckAndBow"), NamedNode(plucked[0]))


# --------------------------------------------------------------------------- players


def _players(staff: Staff, marks: Sequence[Mark]) -> Iterator[Quad]:
    """Yield divisi for players called by number that have more notes than players."""
    calls = [(mark, _of_kind(staff.knowledge, mark, "PlayerCall")) for mark in marks]
    calls = [(mark, called) for mark, called in calls if called]
    place, reported = 0, False
    players: int | None = None
    divided = False
    for item in staff.placed:
        while place < len(calls) and calls[place][0].onset <= item.event.onset:
            mark, called = calls[place]
            players = _called(staff.knowledge, mark, called, players)
            divided = DIVISI in called or (divided and UNISON not in called)
            place, reported = place + 1, False
        parts = item.in_force.parts
        if players is None or reported or not divided or parts is None:
            continue
        notes = max(len(item.event.notes), parts)
        if notes > players:
            reported = True
            event = NamedNode(item.event.iri)
            yield Quad(event, oq("dividesAmong"), Literal(players))
            yield Quad(event, oq("partsAmong"), Literal(notes))


def _called(
    knowledge: Knowledge, mark: Mark, called: Sequence[str], players: int | None
) -> int | None:
    """How many players play on after a call for players; ``None`` for an unknown number."""
    for iri in called:
        if iri == SOLI:
            figures = [int(word) for word in words_of(mark.text) if word.isdecimal()]
            players = figures[0] if figures else None
        elif iri not in _AMONG_THE_CALLED:
            players = knowledge.directives[iri].seats
    return players
