"""Tables of pages: what they hold; ``tables.html.jinja`` writes their heads and cells."""

from msgspec import Struct

from orchq.notation import Pitch


class TableRow(Struct, frozen=True):
    """One row of a table: ``cites`` are numbers in the list of sources."""

    cells: tuple[str, ...]
    cites: tuple[int, ...] = ()
    notes: tuple[Pitch, ...] = ()


class Table(Struct, frozen=True):
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
