"""Labels at notes: a shape for the severity, and the number of the finding.

Measures are those of verovio's drawing: 180 units lie between two lines of a staff.
"""

from collections.abc import Sequence
from html import escape

from msgspec import Struct

from orchq.severity import Severity

_SPACE = 180
_SHAPE = 250
_DIGIT = 245
_HEIGHT = 330
_LETTER = 190
_STEP = 120
_STEPS = 12
_GAP = 80
_SHAPES = {
    "violation": "M0 0h{0}v-{0}h-{0}z",
    "warning": "M0 0h{0}l-{1} -{0}z",
    "info": "M0 -{1}a{1} {1} 0 1 0 {0} 0a{1} {1} 0 1 0 -{0} 0z",
}


class Label(Struct, frozen=True):
    """A finding as it is shown at a note.

    ``name`` is the identifier of the finding on the page, ``number`` what is printed, and
    ``words`` what the label is called where it is read aloud. ``leads`` is false where another
    system shows the first place of the finding, to which the page jumps.
    """

    name: str
    number: int
    severity: Severity
    words: str
    leads: bool = True


class Box(Struct, frozen=True):
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

    @classmethod
    def of_words(cls, x: int, y: int, letters: int, anchor: str | None) -> "Box":
        """About the room that so many letters take from a place on their line."""
        width = letters * _LETTER
        left = x - {"middle": width // 2, "end": width}.get(anchor or "", 0)
        return cls(left - _GAP, y - _HEIGHT, left + width + _GAP, y + _GAP)

    @property
    def middle(self) -> int:
        """Half way between left and right."""
        return (self.left + self.right) // 2

    def moved(self, right: int, down: int) -> "Box":
        """The same room elsewhere."""
        return Box(self.left + right, self.top + down, self.right + right, self.bottom + down)

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


class LabelLayout:
    """Gathers labels, and lays them so that none hides another or printed words.

    ``names`` are those of the findings labelled.
    """

    def __init__(self) -> None:
        self.names: set[str] = set()
        self._taken: list[Box] = []
        self._wanted: list[tuple[Label, Box, int]] = []

    def add(self, labels: Sequence[Label], head: Box, top: int) -> None:
        """Put the labels of a note above ``top``; a finding about several notes has one label."""
        for label in labels:
            if label.name not in self.names:
                self.names.add(label.name)
                self._wanted.append((label, head, top))

    def avoid(self, room: Box) -> None:
        """Keep labels off a room where something is printed."""
        self._taken.append(room)

    def laid(self) -> tuple[str, int]:
        """All labels as SVG, and the highest place that they reach."""
        written, highest = [], 0
        for label, head, top in self._wanted:
            box = self._free(head.middle, top - _SPACE, len(str(label.number)))
            self._taken.append(box)
            highest = min(highest, box.top)
            written.append(_written(label, box, head))
        return "".join(written), highest

    def _free(self, middle: int, bottom: int, digits: int) -> Box:
        """The nearest room beside or above a place; high enough up there is always some.

        Aside is better than up, where the staff above begins.
        """
        half = (_SHAPE + _GAP + _DIGIT * digits) // 2
        wanted = Box(middle - half, bottom - _HEIGHT, middle + half, bottom)
        moves = sorted(
            ((aside * half, up * _STEP) for aside in range(-2, 3) for up in range(_STEPS)),
            key=lambda move: (abs(move[0]) + 2 * move[1], move[0]),
        )
        for aside, up in moves:
            box = wanted.moved(aside, -up)
            if not any(box.meets(other) for other in self._taken):
                return box
        return wanted.moved(0, min(other.top for other in self._taken) - _GAP - wanted.bottom)


def _written(label: Label, box: Box, head: Box) -> str:
    ident = f' id="{label.name}-note"' if label.leads else ""
    shape = _SHAPES[label.severity].format(_SHAPE, _SHAPE // 2)
    return (
        f'<a class="mark {label.severity}"{ident} href="#{label.name}"'
        f' data-finding="{label.name}" aria-label="{escape(label.words)}">'
        f'<rect class="room" x="{box.left - 50}" y="{box.top - 40}" rx="60"'
        f' width="{box.right - box.left + 100}" height="{_HEIGHT + 80}"/>'
        f'<path class="lead" d="M{box.middle} {box.bottom + 40}L{head.middle} {head.top - 60}"/>'
        f'<path class="shape" transform="translate({box.left} {box.bottom - 30})" d="{shape}"/>'
        f'<text x="{box.left + _SHAPE + _GAP}" y="{box.bottom - 30}">{label.number}</text></a>'
    )
