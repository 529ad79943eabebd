"""Tables of pages: what they hold; ``tables.html.jinja`` writes their heads and cells."""

from dataclasses import dataclass

from orchq.notation import Pitch


@dataclass(frozen=True, slots=True)
class TableRow:
    """One row of a table: ``cites`` are numbers in the list of who says so."""

    cells: tuple[str, ...]
    cites: tuple[int, ...] = ()
    notes: tuple[Pitch, ...] = ()


@dataclass(frozen=True, slots=True)
class Table:
    """A table of a page.

    ``missing`` says instead why there is none; ``key`` is what the page calls it, and ``lead`` how
    it is to be read.
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
