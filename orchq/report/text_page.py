"""A page of text: lines of styled words that wrap with a hanging indent."""

from collections.abc import Iterable, Iterator, Sequence
from io import StringIO
from typing import TypedDict, Unpack

from rich.console import Console
from rich.table import Column, Table
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


class Look(TypedDict, total=False):
    """How text is to look where it goes: ``width`` in columns, ``colour`` for terminals.

    ``unicode`` is false where only ASCII can be shown.
    """

    width: int
    colour: bool
    unicode: bool


class Page:
    """Collects lines and tables; ``text`` gives them with or without terminal colours."""

    def __init__(self, **look: Unpack[Look]) -> None:
        colour = look.get("colour", False)
        self._shapes = SHAPES if look.get("unicode", True) else _ASCII_SHAPES
        self.width = max(look.get("width", PLAIN_WIDTH), NARROWEST)
        self._console = Console(
            file=StringIO(),
            width=self.width,
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

    def table(
        self, columns: Iterable[Column], rows: Iterable[Sequence[Text | str]], gap: int = 2
    ) -> None:
        """Add rows under the heads of their columns, ``gap`` columns apart."""
        table = Table(
            *columns, box=None, pad_edge=False, padding=(0, gap, 0, 0), header_style="bold"
        )
        for row in rows:
            table.add_row(*row)
        with self._console.capture() as written:
            self._console.print(table)
        for line in written.get().splitlines():
            self._console.file.write(f"{line.rstrip()}\n")

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
