"""``orchq sheet``: one page about an instrument."""

from pathlib import Path
from typing import Annotated

import typer

import orchq
from orchq.cli.options import Extensions, Level, Out, Trust
from orchq.cli.output import check_out, deliver
from orchq.report.sheet import instrument_sheet


def sheet(
    instrument: Annotated[
        str, typer.Argument(metavar="INSTRUMENT", help="Its name, in any language of the graph.")
    ],
    out: Out = None,
    level: Level = None,
    trust: Trust = None,
    extensions: Extensions = None,
) -> None:
    """Write a page about an instrument: what it can play, and who says so."""
    check_out(out, [*map(Path, extensions or ())])
    graph = orchq.load(extensions or ())
    deliver(instrument_sheet(graph, instrument, level=level, trust=trust), out)
