"""The sheet assembled: template, style, tables, drawings and sources."""

from collections.abc import Sequence
from functools import partial
from pathlib import Path

from msgspec import Struct

from orchq.questions import Graph
from orchq.report.engraved.system_drawing import Glyphs
from orchq.report.printed_examples import example_inline
from orchq.report.sheet.left_hand import NaturalHarmonics, board_map, double_stops, harmonics
from orchq.report.sheet.parts_table import parts_table
from orchq.report.sheet.register_ranges import register_ranges, register_table
from orchq.report.sheet.sheet_tables import SheetTables, attempt
from orchq.report.sheet.staff import StaffDrawing
from orchq.report.tables import Table, TableRow
from orchq.report.web import check_installed, document
from orchq.report.wording import attribution, one_line

_HERE = Path(__file__).parent


class Bar(Struct, frozen=True):
    """A stretch of the scale of loudness in hundredths of its width; an open end has no mark."""

    left: float
    width: float
    ends: tuple[float, ...]
    doubted: bool


def instrument_sheet(
    graph: Graph, name: str, *, level: str | None = None, trust: str | None = None
) -> str:
    """Return one HTML document on an instrument, called by its name in any language.

    What the graph lacks about it is listed as missing. The document fetches nothing and
    runs nothing. Raises ``OrchqError`` for an unknown name, and when verovio or Jinja2
    is not installed.
    """
    check_installed()
    instrument = graph.ask.names.instrument(name)
    content = SheetTables(graph, instrument, level, trust)
    glyphs = Glyphs()
    clefs = content.clefs()
    staff = StaffDrawing(instrument, clefs, glyphs)
    natural: list[NaturalHarmonics] = []

    def natural_table() -> Table:
        natural.append(harmonics(content))
        return natural[0].table

    tables = {
        "tunings": content.tunings(),
        "lengths": content.lengths(),
        "zones": content.zones(),
        "compass": content.compass(),
        "ceilings": content.ceilings(),
        "registers": register_table(content),
        "ranges": attempt("Softest and loudest at a glance", content.loudness),
        "colours": content.colours(),
        "envelopes": content.envelopes(),
        "harmonics": attempt("Natural harmonics", natural_table),
        "stops": attempt("Double stops", partial(double_stops, content)),
        "bow": attempt("One bow at a dynamic", content.bow),
        "changes": content.changes(),
        "rates": content.rates(),
        "sections": content.sections(),
        "terms": content.terms(),
        "parts": parts_table(content),
    }
    tables["notation"], examples = content.notation()
    dynamics = [one_line(dynamic.label) for dynamic in graph.dynamics.values()]
    return document(
        _HERE / "sheet.html.jinja",
        instrument=instrument,
        clefs=clefs,
        level=content.stand.shown["level"] or "orchestral",
        trust=content.stand.shown["trust"],
        tables=tables,
        drawn={
            key: [staff.drawing(row.notes) for row in tables[key].rows]
            for key in ("tunings", "zones", "compass", "ceilings")
        },
        ranges=register_ranges(content),
        registers=list(graph.ask.registers(on=instrument.iri)),
        examples=[[(each, example_inline(each, glyphs)) for each in row] for row in examples],
        dynamics=dynamics,
        bars=[_bar(tables["envelopes"], row, dynamics) for row in tables["envelopes"].rows],
        overlays=[
            (
                _bar(tables["ranges"], row, dynamics),
                [
                    _bar(tables["envelopes"], each, dynamics)
                    for each in tables["envelopes"].rows
                    if each.cells[0] == row.cells[0]
                ],
            )
            for row in tables["ranges"].rows
        ],
        nodes=[node for each in natural for node in each.nodes],
        board=board_map(content, [node for each in natural for node in each.touched]),
        citations=[attribution(each, "") for each in content.citations.numbers],
        glyphs=glyphs.definitions(),
    )


def _bar(table: Table, row: TableRow, dynamics: Sequence[str]) -> Bar:
    step = 100 / len(dynamics)
    softest, loudest, basis = (
        row.cells[table.column(head)] if head in table.heads else ""
        for head in ("softest", "loudest", "basis")
    )
    left = (dynamics.index(softest) + 0.5) * step if softest in dynamics else 0.0
    right = (dynamics.index(loudest) + 0.5) * step if loudest in dynamics else 100.0
    ends = [end for end, label in ((left, softest), (right, loudest)) if label in dynamics]
    return Bar(left, right - left, tuple(ends), basis in ("memory", "derived"))
