"""The fingerboard of an instrument as a map: notes, positions and natural harmonics."""

from collections.abc import Iterable, Sequence
from html import escape
from math import log2

from msgspec import Struct

from orchq.derive.hand import HandModel
from orchq.knowledge import InstrumentString
from orchq.notation import Pitch
from orchq.report.fingerboard import DrawnBoard, board_text
from orchq.report.svg import SURE
from orchq.report.wording import one_line

_TOP = 19
"""Semitones shown above the open strings: an octave and a fifth, two thirds of a string."""
_NATURALS = frozenset({0, 2, 4, 5, 7, 9, 11})
_DIAMOND = 6


class TouchedNode(Struct, frozen=True):
    """Where a string (1 is the highest) is touched for a harmonic, and what then sounds.

    ``place`` is the part of its length from the nut, from 0 to 1.
    """

    string: int
    place: float
    sounding: str


def board_map_svg(
    model: HandModel,
    strings: Sequence[InstrumentString],
    nodes: Iterable[TouchedNode],
    description: str,
) -> str:
    """Return a fingerboard with its notes without signs, its positions and the nodes given as SVG.

    ``strings`` are those of the hand, the highest first; ``description`` is read out in place of
    the picture. Nodes beyond what is shown are left out.
    """
    top = min(_TOP, model.highest_stop)
    board = DrawnBoard(model, strings, top, small=False)
    parts = board.bare()
    for string in strings:
        y = board.height_of(string.number)
        for semitones in range(1, top + 1):
            midi = string.pitch.midi + semitones
            if midi % 12 in _NATURALS:
                name = Pitch.from_midi(midi).name.rstrip("-0123456789")
                at = board.along(semitones)
                parts.append(f'<path d="M{at:.1f} {y - 3}v6" stroke="currentColor"/>')
                parts.append(board_text(at, y + 14, name, size=9))
    for node in nodes:
        height = -12 * log2(1 - node.place)
        if height <= top + 0.1:
            x, y = board.along(height), board.height_of(node.string)
            d = _DIAMOND
            parts.append(f'<path d="M{x:.1f} {y - d}l{d} {d}l-{d} {d}l-{d} -{d}z" fill="{SURE}"/>')
            parts.append(
                board_text(x, y - d - 3, one_line(node.sounding, 8), size=9, fill=SURE, bold=True)
            )
    height = board.edges()[1] + 16
    return (
        f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 20 {board.width} {height}" '
        'class="board-map" role="img" font-family="sans-serif" font-size="11" fill="currentColor">'
        f"<title>{escape(one_line(description, 400))}</title>{''.join(parts)}</svg>\n"
    )
