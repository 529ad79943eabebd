"""The parts of instrument and bow on a sheet, as the question about them answers."""

from orchq.questions.answers import NOTHING
from orchq.report.sheet.sheet_tables import SheetTables
from orchq.report.tables import Table, TableRow
from orchq.report.wording import one_line

_CAPTION = "Parts of instrument and bow, and their materials"
_HEADS = ("", "Italian", "French", "German", "played there")


def parts_table(content: SheetTables) -> Table:
    """Return what the parts are called in each language, and the techniques that happen there."""
    rows = []
    for answer in content.ask.parts(on=content.instrument.iri):
        words = (answer.english, answer.italian, answer.french, answer.german, answer.techniques)
        cells = tuple(one_line(", ".join(each)) or NOTHING for each in words)
        rows.append(TableRow(cells, content.citations.cite(answer.evidence)))
    if not rows:
        return Table(_CAPTION, missing="The graph has no parts of it.")
    return Table(_CAPTION, _HEADS, tuple(rows))
