"""``orchq sheet``: one page about an instrument."""

from importlib import import_module
from pathlib import Path
from typing import Annotated

import typer

import orchq
from orchq.cli.check import Extensions
from orchq.cli.output import check_out, deliver


def sheet(
    instrument: Annotated[
        str, typer.Argument(metavar="INSTRUMENT", help="Its name, in any language of the graph.")
    ],
    out: Annotated[
        Path | None,
        typer.Option("-o", "--out", metavar="OUT", help="Write the page to this file."),
    ] = None,
    level: Annotated[
        str | None,
        typer.Option("--level", help="Who plays: student, orchestral (unless told) or soloist."),
    ] = None,
    trust: Annotated[
        str | None, typer.Option("--trust", help="Follow this authority where it speaks.")
    ] = None,
    extensions: Extensions = None,
) -> None:
    """Write a page about an instrument: what it can play, and who says so."""
    check_out(out, [*map(Path, extensions or ())])
    # Loaded only here, since the other commands should not wait for it.
    make = import_module("orchq.report.sheet").instrument_sheet
    page: str = make(orchq.load(extensions or ()), instrument, level=level, trust=trust)
    deliver(page, out)
