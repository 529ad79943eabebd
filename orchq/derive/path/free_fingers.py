"""Fingers that are free while others stop: for a trill above a stop, and to pluck a string."""

from collections.abc import Iterator, Sequence
from functools import lru_cache
from itertools import product

from orchq.derive.hand import HandModel
from orchq.derive.path.board import Fall
from orchq.derive.path.postures import Demand, Posture, PostureTable, Taken, table_of

_STEPS = (1, 2)
_MOST_STRETCH = 1.0
"""A hand that reaches farther than stretched has no freedom to beat or to pluck."""
_FINGERS = (1, 2, 3, 4)
_CACHE = 1 << 10


@lru_cache(_CACHE)
def can_trill(model: HandModel, demand: Demand, trilled: tuple[int, ...]) -> bool:
    """Return whether a hand that takes the notes has fingers for trills above some of them.

    ``trilled`` are the indices of those notes, counted from the lowest. A trill goes a semitone or
    a whole tone up, on the same string, and the hand stays where it is. Notes that no hand takes
    at all leave nothing to ask: then it is true.
    """
    table = table_of(model)
    found = table.of(demand)
    if found is None:
        return True
    return any(
        _at_ease(table, row, _above(row, fingers))
        for row in found.rows
        for fingers in product(*(list(_trilling(table, row, row.taken[n])) for n in trilled))
    )


def _at_ease(table: PostureTable, one: Posture, other: Posture) -> bool:
    """Whether the fingers of both stand at once, and none of them at its widest."""
    stretch = table.stretch_of(one, other)
    return stretch is not None and stretch <= _MOST_STRETCH


def _trilling(table: PostureTable, row: Posture, note: Taken) -> Iterator[tuple[Taken, Fall]]:
    """The fingers above the one that stops a note, where they fall for the trill."""
    for step in _STEPS:
        height = note.height + step
        if height <= table.model.highest_stop:
            for fall in table.board.falls(height):
                if fall.place == row.place and fall.finger > note.finger:
                    yield Taken(note.string, height, fall.finger), fall


def _above(row: Posture, fingers: Sequence[tuple[Taken, Fall]]) -> Posture:
    return Posture(row.place, tuple(note for note, _ in fingers), tuple(f for _, f in fingers))


@lru_cache(_CACHE)
def can_pluck(model: HandModel, plucked: Demand, held: Demand | None) -> bool:
    """Return whether the left hand has a finger free to pluck notes, others being held by the bow.

    An open string is plucked by any finger that stops nothing, a stopped note by one above that
    which stops it. Notes that one hand does not take together leave nothing to ask: then it is
    true.
    """
    table = table_of(model)
    found = table.of(plucked)
    beside = table.of(held) if held is not None else None
    if found is None or (held is not None and beside is None):
        return True
    pairs = product(found.rows, beside.rows if beside is not None else (Posture(0, ()),))
    hands = [pair for pair in pairs if _are_one_hand(table, *pair)]
    return not hands or any(_is_free(*pair) and _at_ease(table, *pair) for pair in hands)


def _is_free(plucked: Posture, held: Posture) -> bool:
    """Whether a finger above those that stop the plucked notes stops nothing itself."""
    busy = {note.finger for note in (*plucked.taken, *held.taken)}
    top = max(note.finger for note in plucked.taken)
    return any(finger not in busy and finger > top for finger in _FINGERS)


def _are_one_hand(table: PostureTable, one: Posture, other: Posture) -> bool:
    """Whether one hand takes two sets of notes, on strings of their own."""
    return (
        {note.string for note in one.taken}.isdisjoint(note.string for note in other.taken)
        and (not one.falls or not other.falls or one.place == other.place)
        and table.stretch_of(one, other) is not None
    )
