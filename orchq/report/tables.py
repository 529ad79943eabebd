"""Tables of pages: what they hold; ``tables.html.jinja`` writes their heads and cells."""

from dataclasses import dataclass

from orchq.notation import Pitch


@dataclass(frozen=True, slots=True)
class TableRow:
    """One row of a table: ``cites`` are numbers in the list of sources."""

    cells: tuple[str, ...]
    cites: tuple[int, ...] = ()
    notes: tuple[Pitch, ...] = ()


@dataclass(frozen=True, slots=True)
class Table:
    """A table of a page.

    ``missing`` is the reason when there is none; ``key`` is its identifier on the page, and
    ``lead`` explains how to read it.
    """

    caption: str
    heads: tuple[str, ...] = ()
    rows: tuple[TableRow, ...] = ()
    missing: str = ""
    key: str = ""
    lead: str = ""

    def column(self, head: str) -> int:
        """The place of a column."""
        return self.heads.index(head)
