"""Pictures of a stop or a short line on a fingerboard in SVG: strings, nut, positions, fingers.

A picture has presentation attributes and no styles of its own, so that a page whose policy forbids
styles may hold it; lines and letters take the color of the text around it.
"""

from collections.abc import Iterable, Sequence
from html import escape

from msgspec import Struct

from orchq.derive.hand import HandModel, span_mm, stop_mm
from orchq.derive.path.board import board_of
from orchq.knowledge import InstrumentString
from orchq.report.svg import ANY_GROUND, SURE
from orchq.report.wording import one_line

_LEFT, _RIGHT, _ABOVE, _BELOW = 64, 24, 44, 44
_WIDTH, _BETWEEN = 640, 34
_SMALL_WIDTH, _SMALL_BETWEEN = 340, 26
_DOT = 9
_LEAST_SHOWN = 8
"""Semitones of the fingerboard that are shown at least."""
_MARGIN = 2


class BoardNote(Struct, frozen=True):
    """A note on the fingerboard.

    ``string`` counts from 1, the highest; ``semitones`` above the open string, 0 for an open one;
    ``label`` is written beside the dot and ``finger`` into it, if there is one.
    """

    string: int
    semitones: int
    label: str
    finger: str | None = None


class BoardPicture(Struct, frozen=True):
    """One fingerboard: what stands above it, the notes, and whether they come one after another.

    Those of a line are numbered in their order; of a stop the span is drawn below.
    """

    caption: str
    places: Sequence[BoardNote]
    in_order: bool = False


def fingerboard_svg(
    model: HandModel,
    strings: Sequence[InstrumentString],
    pictures: Sequence[BoardPicture],
    description: str,
    *,
    alone: bool = False,
    small: bool = False,
) -> str:
    """Return pictures below each other on one scale as an SVG element.

    ``strings`` are those of the hand, the highest first; ``description`` is read out in place of
    the picture. With ``alone`` the element is a document of its own, for light and dark windows;
    ``small`` is for a column of a page.
    """
    top = max((place.semitones for each in pictures for place in each.places), default=0)
    top = min(max(top + _MARGIN, _LEAST_SHOWN), model.highest_stop)
    board = DrawnBoard(model, strings, top, small=small)
    drawn = [board.drawn(each, number * board.height) for number, each in enumerate(pictures)]
    height = board.height * len(pictures)
    words = escape(one_line(description, 400))
    return (
        f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 {board.width} {height}" '
        f'width="{board.width}" height="{height}" role="img" '
        'font-family="sans-serif" font-size="11" fill="currentColor">'
        f"<title>{words}</title>{ANY_GROUND if alone else ''}{''.join(drawn)}</svg>\n"
    )


class DrawnBoard:
    """The strings up to a height, and what stands on them."""

    def __init__(
        self, model: HandModel, strings: Sequence[InstrumentString], top: int, *, small: bool
    ) -> None:
        self.width = _SMALL_WIDTH if small else _WIDTH
        self._between = _SMALL_BETWEEN if small else _BETWEEN
        self._model = model
        self._strings = strings
        self._top = top
        self.height = _ABOVE + self._between * len(strings) + _BELOW

    def drawn(self, picture: BoardPicture, down: int) -> str:
        """The picture with its upper edge that far down."""
        first, last = self.edges(down)
        parts = [board_text(_LEFT, down + 14, one_line(picture.caption, 120), "start", bold=True)]
        parts += self.bare(down)
        for places in _at_once(picture):
            parts.append(self._dot(places, first, numbered=picture.in_order))
        if not picture.in_order:
            parts.append(self._span(picture.places, last + 14))
        return "".join(parts)

    def edges(self, down: int = 0) -> tuple[int, int]:
        """Where the first and the last string lie, with the upper edge that far down."""
        first = down + _ABOVE
        return first, first + self._between * (len(self._strings) - 1)

    def bare(self, down: int = 0) -> list[str]:
        """Nut, strings and positions, with the upper edge that far down."""
        first, last = self.edges(down)
        nut = f'<path d="M{_LEFT} {first}V{last}" stroke="currentColor" stroke-width="4"/>'
        parts = [nut]
        for row, string in enumerate(self._strings):
            y = first + row * self._between
            parts.append(
                f'<line x1="{_LEFT}" y1="{y}" x2="{self.width - _RIGHT}" y2="{y}"'
                f' stroke="currentColor" stroke-width="{0.8 + 0.4 * row:.1f}" opacity="0.6"/>'
            )
            parts.append(board_text(_LEFT - 28, y + 4, one_line(string.name, 4), "end"))
        return parts + self._positions(first, last)

    def height_of(self, string: int) -> int:
        """How far down a string lies; the highest is 1."""
        return self.edges()[0] + (string - 1) * self._between

    def _span(self, places: Sequence[BoardNote], y: int) -> str:
        """How far it is along the string from the lowest stop to the highest."""
        stopped = [place.semitones for place in places if place.semitones]
        if len(set(stopped)) < 2:
            return ""
        low, high = min(stopped), max(stopped)
        left, right = self.along(low), self.along(high)
        mm = span_mm(self._model.length_mm, low, high)
        return (
            f'<path d="M{left:.1f} {y - 4}v8M{left:.1f} {y}H{right:.1f}M{right:.1f} {y - 4}v8"'
            ' fill="none" stroke="currentColor"/>'
            + board_text(right + 6, y + 4, f"{mm:.0f} mm", "start")
        )

    def _positions(self, first: int, last: int) -> list[str]:
        """Where the first finger stands in each whole position, as far as there is room."""
        board = board_of(self._model)
        drawn, free = [], 0.0
        for place in range(1, board.places):
            number, height = float(board.positions[place]), float(board.heights[place])
            if height > self._top or number != int(number) or number < 1:
                continue
            x = self.along(height)
            if x < free:
                continue
            free = x + 26
            drawn.append(
                f'<line x1="{x:.1f}" y1="{first}" x2="{x:.1f}" y2="{last}" stroke="currentColor"'
                ' stroke-width="0.6" stroke-dasharray="2 3" opacity="0.5"/>'
            )
            drawn.append(board_text(x, last + 30, _roman(int(number))))
        return drawn

    def _dot(self, places: Sequence[tuple[int, BoardNote]], first: int, *, numbered: bool) -> str:
        string, semitones = places[0][1].string, places[0][1].semitones
        x = self.along(semitones) if semitones else _LEFT - 13
        y = first + (string - 1) * self._between
        fingers = "".join(dict.fromkeys(place.finger or "" for _, place in places))
        written = fingers or ("0" if not semitones else "")
        label = places[0][1].label
        if numbered:
            label = f"{', '.join(str(number) for number, _ in places)}: {label}"
        fill = SURE if semitones else "none"
        ink = "#ffffff" if semitones else "currentColor"
        return (
            f'<circle cx="{x:.1f}" cy="{y}" r="{_DOT}" fill="{fill}" stroke="{SURE}"'
            f' stroke-width="1.5"/>{board_text(x, y + 4, written, fill=ink, bold=True)}'
            f"{board_text(x, y - _DOT - 3, one_line(label, 24), size=9)}"
        )

    def along(self, semitones: float) -> float:
        """How far from the left edge a height above the open string lies."""
        length = self._model.length_mm
        share = stop_mm(length, semitones) / stop_mm(length, self._top)
        return _LEFT + share * (self.width - _RIGHT - _LEFT)


def _at_once(picture: BoardPicture) -> Iterable[list[tuple[int, BoardNote]]]:
    """The notes by where they lie, each with its number in the line."""
    found: dict[tuple[int, int], list[tuple[int, BoardNote]]] = {}
    for number, place in enumerate(picture.places, start=1):
        found.setdefault((place.string, place.semitones), []).append((number, place))
    return found.values()


def board_text(
    x: float,
    y: float,
    words: str,
    anchor: str = "middle",
    *,
    fill: str = "currentColor",
    size: int = 11,
    bold: bool = False,
) -> str:
    """Words on a drawing; ``anchor`` is where ``x`` lies in them."""
    weight = ' font-weight="bold"' if bold else ""
    return (
        f'<text x="{x:.1f}" y="{y:.1f}" text-anchor="{anchor}" font-size="{size}"'
        f' fill="{fill}"{weight}>{escape(words)}</text>'
    )


def _roman(number: int) -> str:
    """A position as it is numbered on fingerboards.

    >>> _roman(4), _roman(9), _roman(14)
    ('IV', 'IX', 'XIV')
    """
    tens, ones = divmod(number, 10)
    digits = ("", "I", "II", "III", "IV", "V", "VI", "VII", "VIII", "IX")
    return "X" * tens + digits[ones]
