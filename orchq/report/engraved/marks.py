"""Labels at notes: a shape that tells the severity, and the number of the finding.

Measures are those of verovio's drawing: 180 units lie between two lines of a staff.
"""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace
from html import escape

from orchq.rules.finding import Severity

_SPACE = 180
_SHAPE = 250
_DIGIT = 190
_HEIGHT = 330
_GAP = 80
_SHAPES = {
    "violation": "M0 0h{0}v-{0}h-{0}z",
    "warning": "M0 0h{0}l-{1} -{0}z",
    "info": "M0 -{1}a{1} {1} 0 1 0 {0} 0a{1} {1} 0 1 0 -{0} 0z",
}


@dataclass(frozen=True, slots=True)
class Label:
    """A finding as it is shown at a note.

    ``name`` is the identifier of the finding on the page, ``number`` what is printed, and
    ``words`` what the label is called where it is read aloud.
    """

    name: str
    number: int
    severity: Severity
    words: str


@dataclass(frozen=True, slots=True)
class Box:
    """A rectangle; ``bottom`` is greater than ``top``."""

    left: int
    top: int
    right: int
    bottom: int

    @classmethod
    def about_head(cls, x: int, y: int, scale: float) -> "Box":
        """The room of a notehead whose sign stands at this place in this size."""
        half = round(_SPACE * 0.72 * scale / 0.72)
        middle = x + round(_SPACE * 0.6 * scale / 0.72)
        return cls(middle - half, y - half, middle + half, y + half)

    @classmethod
    def about_point(cls, x: int, y: int) -> "Box":
        """Some room about a place without a notehead."""
        half = _SPACE // 2
        return cls(x - half, y - half, x + half, y + half)

    @property
    def middle(self) -> int:
        """Half way between left and right."""
        return (self.left + self.right) // 2

    def meets(self, other: "Box") -> bool:
        """Whether the two share room."""
        return (
            self.left < other.right
            and other.left < self.right
            and self.top < other.bottom
            and other.top < self.bottom
        )

    def ring(self) -> str:
        """A ring about the room."""
        x, y = self.middle, (self.top + self.bottom) // 2
        width, height = self.right - x + 70, self.bottom - y + 60
        return f'<ellipse class="ring" cx="{x}" cy="{y}" rx="{width}" ry="{height}"/>'


class Marks:
    """Gathers labels so that none lies upon another.

    ``top`` is the highest place taken, ``names`` are those of the findings labelled.
    """

    def __init__(self) -> None:
        self.top = 0
        self._taken: list[Box] = []
        self._written: list[str] = []
        self.names: set[str] = set()

    def add(self, labels: Sequence[Label], head: Box, top: int) -> None:
        """Put the labels of a note above ``top``; a finding about several notes has one label."""
        for label in labels:
            if label.name not in self.names:
                self.names.add(label.name)
                self._add(label, head, top)

    def written(self) -> str:
        """All labels as SVG."""
        return "".join(self._written)

    def _add(self, label: Label, head: Box, top: int) -> None:
        width = _SHAPE + _GAP + _DIGIT * len(str(label.number))
        bottom = top - _SPACE
        box = Box(head.middle - width // 2, bottom - _HEIGHT, head.middle + width // 2, bottom)
        while blocker := _first_met(box, self._taken):
            bottom = blocker.top - _GAP
            box = replace(box, top=bottom - _HEIGHT, bottom=bottom)
        self._taken.append(box)
        self.top = min(self.top, box.top)
        shape = _SHAPES[label.severity].format(_SHAPE, _SHAPE // 2)
        self._written.append(
            f'<a class="mark {label.severity}" id="{label.name}-note" href="#{label.name}"'
            f' data-finding="{label.name}" aria-label="{escape(label.words)}">'
            f'<rect class="room" x="{box.left - 50}" y="{box.top - 40}" rx="60"'
            f' width="{width + 100}" height="{_HEIGHT + 80}"/>'
            f'<path class="lead" d="M{head.middle} {box.bottom + 40}V{head.top - 60}"/>'
            f'<path class="shape" transform="translate({box.left} {box.bottom - 30})" d="{shape}"/>'
            f'<text x="{box.left + _SHAPE + _GAP}" y="{box.bottom - 30}">{label.number}</text></a>'
        )


def _first_met(box: Box, taken: Iterable[Box]) -> Box | None:
    return next((other for other in taken if box.meets(other)), None)
