"""A page of text: lines of styled words that wrap with a hanging indent."""

from collections.abc import Iterator
from io import StringIO

from rich.console import Console
from rich.text import Text

PLAIN_WIDTH = 100
"""Columns of a report that does not go to a terminal."""

NARROWEST = 40
"""Columns below which wrapping would leave single words."""

LABEL_WIDTH = 14
"""Columns of the labels beside an entry's texts."""

STYLES = {"violation": "bold red", "warning": "yellow", "info": "cyan"}
SHAPES = {"violation": "■", "warning": "▲", "info": "○"}
_ASCII_SHAPES = {"violation": "X", "warning": "!", "info": "-"}


class Page:
    """Collects lines; ``text`` gives them with or without terminal colours.

    ``width`` is in columns. ``unicode`` is false where only ASCII can be shown.
    """

    def __init__(self, *, width: int = PLAIN_WIDTH, colour: bool = False, unicode: bool = True):
        self._shapes = SHAPES if unicode else _ASCII_SHAPES
        self._console = Console(
            file=StringIO(),
            width=max(width, NARROWEST),
            force_terminal=colour,
            no_color=None if colour else True,
            markup=False,
            emoji=False,
            highlight=False,
        )

    def line(self, text: str = "", style: str = "", indent: int = 0, hang: int = 0) -> None:
        """Add a line; what does not fit goes on, ``hang`` columns further in."""
        for number, row in enumerate(self._wrapped(text, indent + hang)):
            self._put(Text(" " * (indent + (hang if number else 0))), Text(row, style=style))

    def entry(self, label: str, text: str, style: str = "", indent: int = 0) -> None:
        """Add text beside a label; further rows stay beside it."""
        room = indent + LABEL_WIDTH
        for number, row in enumerate(self._wrapped(text, room)):
            head = Text(" " * indent)
            head.append(label if number == 0 else "", style=style)
            head.pad_right(room - len(head))
            self._put(head, Text(row))

    def severity(self, severity: str) -> str:
        """A severity as a shape and a word, so that colour is never needed."""
        return f"{self._shapes[severity]} {severity}"

    def text(self) -> str:
        """Everything so far."""
        stream = self._console.file
        assert isinstance(stream, StringIO)
        return stream.getvalue()

    def _wrapped(self, text: str, taken: int) -> Iterator[str]:
        room = max(self._console.width - taken, NARROWEST // 2)
        for row in Text(text).wrap(self._console, room, overflow="fold") or [Text()]:
            yield row.plain.rstrip()

    def _put(self, head: Text, body: Text) -> None:
        line = head + body
        line.rstrip()
        self._console.print(line, soft_wrap=True)
