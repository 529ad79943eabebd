"""Costs of postures and of moves between them, term by term.

Every term has its weight in the graph; this module only determines the amount of each term.
"""

from collections.abc import Mapping

import numpy as np
from numpy.typing import NDArray

from orchq.derive.hand.hand_frames import FINGERS
from orchq.derive.path.board import OCTAVE, THUMB, Board
from orchq.derive.path.moments import Moment
from orchq.derive.path.postures import OPEN, Postures

Floats = NDArray[np.float64]
Terms = Mapping[str, Floats]
"""The amount of each named term, for every posture or every pair of postures."""
OPEN_STRINGS = frozenset(
    {
        "open-string",
        "open-string-held",
        "open-string-highest",
        "open-string-on-downbeat",
        "open-string-at-turn",
    }
)
"""The costs of open strings: they are of the sound and not of a finger."""
_MM = 30.0
"""The unit of shifts in millimeters, about one position of a violin."""


def posture_terms(board: Board, postures: Postures, moment: Moment) -> Terms:
    """Return the cost of each posture at a moment, by name of the term."""
    # In a stop an open string rings with the others, and needs no finger.
    opened, place = postures.open * (len(postures.pitches) == 1), postures.place
    stops = postures.lone_finger != OPEN
    down = postures.string_of >= 0
    highest = postures.high == 0
    fourth = down[:, 4]
    position = np.where(stops, np.floor(board.positions[place]), -1)
    octave = board.by_degree & (postures.lone_height == OCTAVE) & (postures.lone_finger == 4)
    terms = {
        "open-string": opened,
        "open-string-held": opened * moment.held,
        "open-string-highest": opened * highest,
        "open-string-on-downbeat": opened * (moment.weight == 2),
        "open-string-at-turn": opened * moment.turns,
        "thumb": down[:, THUMB],
        "second-finger": down[:, 2],
        "third-finger": down[:, 3],
        "fourth-finger": fourth,
        "fourth-finger-held": fourth * moment.held,
        "fourth-finger-at-turn": fourth * moment.turns,
        "fourth-finger-at-octave": octave,
        "fourth-finger-reaching-octave": octave * postures.forward,
        "fourth-finger-in-scale": fourth * moment.runs,
        "first-position-in-leaps": (position == 1) * moment.leaps,
        "half-position": position == 0,
        "second-position": position == 2,
        "third-position": position == 3,
        "fourth-position": position == 4,
        "fifth-position": position == 5,
        "high-position": np.maximum(0, position - 5),
        "first-position-after-rest": (position == 1) * moment.rested,
        "third-position-after-rest": (position == 3) * moment.rested,
        "high-on-lower-string": np.maximum(0, position - 1) * postures.low,
        "second-string": postures.low == 1,
        "third-string": postures.low == 2,
        "lower-string": postures.low >= 3,
        "altered-degree": postures.altered,
        "reach-forward": postures.forward,
        "reach-back": postures.back,
        "stop-stretch": postures.stretch,
        "further-finger": np.maximum(0, down.sum(axis=1) - 1),
        "further-note": np.full(len(postures), len(postures.pitches) - 1),
    }
    return {name: np.asarray(value, dtype=float) for name, value in terms.items()}


def move_terms(board: Board, before: Postures, now: Postures, moment: Moment) -> Terms:
    """Return the cost of moving from each posture to each of the next, by name of the term."""
    way = now.place[None, :] - before.place[:, None]
    shift = way != 0
    place_mm = board.mm
    distance = np.abs(place_mm[now.place][None, :] - place_mm[before.place][:, None]) / _MM
    leap = now.pitches[-1] - before.pitches[-1]
    step, third, wide = abs(leap) in (1, 2), abs(leap) in (3, 4), abs(leap) >= 7
    left, right = before.lone_finger[:, None], now.lone_finger[None, :]
    positions = np.floor(board.positions)
    to_third = (positions[before.place][:, None] == 1) & (positions[now.place][None, :] == 3)
    from_open, to_open = left == OPEN, right == OPEN
    stops = (left >= 0) & (right >= 0)
    string = before.lone_string[:, None] == now.lone_string[None, :]
    string = string & (before.lone_string[:, None] >= 0)
    gap = np.maximum(
        0,
        np.maximum(
            now.high[None, :] - before.low[:, None], before.high[:, None] - now.low[None, :]
        ),
    )
    cross = gap >= 1
    upwards = np.sign(before.low[:, None] - now.low[None, :])
    rise, haste = np.sign(leap), moment.haste
    same = _same_finger(before, now, shift)
    stays = stops & ~shift
    low, high = before.lone_height[:, None], now.lone_height[None, :]
    span = board.spans[
        np.maximum(left, 0), np.maximum(low, 0), np.maximum(right, 0), np.maximum(high, 0)
    ]
    stretch = np.where(stays, span, 0.0)
    repeated = before.pitches == now.pitches
    refingered = repeated & ~_held(before, now)
    next_finger = np.abs(left - right) == 1
    guide = shift & string & stops & (left == right)
    terms = {
        "attack-in-haste": np.full(shift.shape, haste),
        "bow-stroke-in-haste": np.full(shift.shape, haste * (not moment.slurred)),
        "shift": shift,
        "shift-distance": shift * distance,
        "shift-in-haste": shift * haste,
        "shift-distance-in-haste": shift * distance * haste,
        "shift-after-rest": shift * moment.rested,
        "shift-under-slur": shift * moment.slurred,
        "shift-to-downbeat": shift * (moment.weight == 2),
        "shift-off-beat": shift * (moment.weight == 0),
        "shift-by-step": shift * step,
        "shift-by-third": shift * third,
        "shift-by-leap": shift * wide,
        "shift-on-repeated-note": shift * (leap == 0),
        "shift-against-line": shift & (np.sign(way) * rise < 0),
        "shift-to-open-string": shift & to_open,
        "shift-from-first-to-third-position": to_third * (1.0 - haste),
        "shift-along-string": shift & string,
        "shift-up-string-by-step": shift & string & (way > 0) & step & (leap > 0),
        "shift-down-string-by-step": shift & string & (way < 0) & step & (leap < 0),
        "shift-on-one-finger": guide,
        "shift-on-one-finger-by-semitone": guide * (abs(leap) == 1),
        "shift-up-to-first-finger": shift & stops & (right == 1) & (left != 1) & (way > 0),
        "shift-down-from-first-finger": shift & stops & (left == 1) & (right != 1) & (way < 0),
        "shift-to-first-finger": shift & (right == 1),
        "shift-to-fourth-finger": shift & (right == 4),
        "shift-with-crossing": shift & cross,
        "slide-by-semitone": same["semitone"],
        "slide-by-semitone-in-haste": same["semitone"] * haste,
        "slide": same["slide"],
        "fifth": same["fifth"],
        "fifth-in-haste": same["fifth"] * haste,
        "hop": same["hop"],
        "hop-in-haste": same["hop"] * haste,
        "crossing": cross,
        "crossing-in-haste": cross * haste,
        "crossing-over-string": np.maximum(0, gap - 1),
        "crossing-over-string-in-haste": np.maximum(0, gap - 1) * haste,
        "crossing-under-slur": cross * moment.slurred,
        "crossing-for-step": cross * step,
        "crossing-for-leap": cross * wide,
        "crossing-at-turn": cross * moment.turns,
        "crossing-after-rest": cross * moment.rested,
        "crossing-against-line": upwards * rise < 0,
        "refingered": refingered,
        "refingered-after-rest": refingered * moment.rested,
        "refingered-slowly": refingered * (1.0 - haste),
        "stretch": stretch,
        "stretch-in-haste": stretch * haste,
        "fingers-out-of-order": stays & string & (np.sign(right - left) * np.sign(high - low) < 0),
        "fourth-finger-to-open-string": (left == 4) & to_open,
        "open-string-to-fourth-finger": from_open & (right == 4),
        "semitone-on-neighbours": stays & string & next_finger & (abs(leap) == 1),
        "semitone-on-third-and-fourth-finger": stays
        & string
        & next_finger
        & (left + right == 7)
        & (abs(leap) == 1),
        "fingers-side-by-side": stays & ~string & next_finger & (low == high),
    }
    return {
        name: _filled(np.asarray(value, dtype=float), shift.shape) for name, value in terms.items()
    }


def _filled(amounts: Floats, shape: tuple[int, ...]) -> Floats:
    """Amounts for every pair; most have that shape already, and asking numpy costs more."""
    return amounts if amounts.shape == shape else np.broadcast_to(amounts, shape)


def _same_finger(before: Postures, now: Postures, shift: NDArray[np.bool_]) -> Terms:
    """How many fingers move on to another note by themselves, by manner."""
    ways = {name: np.zeros(shift.shape) for name in ("semitone", "slide", "fifth", "hop")}
    for finger in range(len(FINGERS)):
        one, other = before.string_of[:, finger, None], now.string_of[None, :, finger]
        way = np.abs(before.height_of[:, finger, None] - now.height_of[None, :, finger])
        used = (one >= 0) & (other >= 0)
        along = used & (one == other) & ~shift
        across = used & (one != other)
        ways["semitone"] += along & (way == 1)
        ways["slide"] += along & (way > 1)
        ways["fifth"] += across & (way == 0)
        ways["hop"] += across & (way > 0)
    return ways


def _held(before: Postures, now: Postures) -> NDArray[np.bool_]:
    """Whether both postures take the same notes with the same fingers on the same strings."""
    strings = before.string_of[:, None, :] == now.string_of[None, :, :]
    ends = (before.high[:, None] == now.high[None, :]) & (before.low[:, None] == now.low[None, :])
    held: NDArray[np.bool_] = strings.all(axis=2) & ends
    return held
