"""The travel of the hand through single notes, whatever fingers and strings players prefer."""

from collections.abc import Sequence
from functools import lru_cache
from itertools import pairwise

import numpy as np
from numpy.typing import NDArray

from orchq.derive.hand import HandModel
from orchq.derive.path.postures import Printed, table_of
from orchq.derive.path.search import shortest

Lying = tuple[int, int | None]
"""A note as MIDI number, and the string that is called for, from 0, the highest, if any."""
_CACHE = 1 << 14
_TIE = 1e-6
"""What a millimeter of travel costs beside a string that is passed over."""


def least_travel(model: HandModel, notes: Sequence[Lying]) -> list[float] | None:
    """Return the travel of the hand before each note but the first, in millimeters.

    It is that of the path on which the hand travels least in all; while an open string sounds the
    hand may move. ``None`` where no string has a note.
    """
    if not all(len(_places(model, *note)) for note in notes):
        return None
    moves = [_moves(model, *pair)[0] for pair in pairwise(notes)]
    return [float(move[one, other]) for move, one, other in _along(moves)]


def passed_over(
    model: HandModel, notes: Sequence[Lying], seconds: Sequence[float], fastest: float
) -> list[bool] | None:
    """Return whether each note but the first is reached over a string left out, or in no time.

    ``seconds`` is the time before each note but the first, ``fastest`` the millimeters a second
    that the hand travels. The path is that with the fewest such places. ``None`` where no string
    has a note.
    """
    if not all(len(_places(model, *note)) for note in notes):
        return None
    moves = []
    for pair, time in zip(pairwise(notes), seconds, strict=True):
        travel, apart = _moves(model, *pair)
        moves.append(np.where(apart | (travel > fastest * time), 1.0, 0.0) + _TIE * travel)
    return [bool(move[one, other] >= 1) for move, one, other in _along(moves)]


def _along(
    moves: Sequence[NDArray[np.float64]],
) -> list[tuple[NDArray[np.float64], int, int]]:
    """The cheapest way through costs of moves: each with its rows before and after."""
    if not moves:
        return []
    nothing = [np.zeros(moves[0].shape[0]), *(np.zeros(move.shape[1]) for move in moves)]
    return [
        (move, one, other)
        for move, (one, other) in zip(moves, pairwise(shortest(nothing, moves)), strict=True)
    ]


@lru_cache(_CACHE)
def _places(model: HandModel, pitch: int, called: int | None) -> NDArray[np.float64]:
    """Where the hand may be for a note: rows of its place, the string, and where that is stopped.

    Places are in millimeters from the nut; an open string is not stopped and has 0. Every string
    is asked, however far up the note lies on it.
    """
    table = table_of(model)
    strings = range(len(model.strings)) if called is None else (called,)
    found = [table.of(((pitch,), (Printed(string),))) for string in strings]
    rows = {(row.place, row.taken[0]) for each in found if each for row in each.rows}
    mm, stops = table.board.mm, table.board.stop_mm
    lying = sorted({(float(mm[place]), note.string, stops[note.height]) for place, note in rows})
    return np.array(lying, dtype=float).reshape(-1, 3)


@lru_cache(_CACHE)
def _moves(
    model: HandModel, before: Lying, now: Lying
) -> tuple[NDArray[np.float64], NDArray[np.bool_]]:
    """The travel from each place to each of the next, and whether a string lies between.

    No hand reaches from stop to stop farther than its widest frame without travel.
    """
    one, other = _places(model, *before)[:, None, :], _places(model, *now)[None, :, :]
    way = np.abs(one - other)
    reach = max(frame.reach_mm(model.level) for frame in model.frames)
    stopped = (one[..., 2] > 0) & (other[..., 2] > 0)
    travel: NDArray[np.float64] = np.maximum(way[..., 0], stopped * (way[..., 2] - reach))
    apart: NDArray[np.bool_] = way[..., 1] > 1
    return travel, apart
