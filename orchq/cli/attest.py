"""``orchq attest``: limits measured on scores, from the tables of surveys."""

from pathlib import Path
from typing import Annotated

import typer

import orchq
from orchq.cli.options import Extensions
from orchq.cli.output import check_out, deliver
from orchq.survey import surveys_as_turtle


def attest(
    surveys: Annotated[
        list[Path], typer.Argument(metavar="DIR...", help="Folders that orchq survey wrote.")
    ],
    source: Annotated[
        str,
        typer.Option(
            "--source",
            metavar="DATA-SET",
            help="The data set, by its name in the graph or in an extension (--with).",
        ),
    ],
    out: Annotated[
        Path | None,
        typer.Option("-o", "--out", metavar="OUT.ttl", help="Write the limits to this file."),
    ] = None,
    extensions: Extensions = None,
) -> None:
    """Write what enough passages by enough composers do as limits of the graph."""
    check_out(out, [*map(Path, extensions or ())])
    knowledge = orchq.load(extensions or ())
    deliver(surveys_as_turtle(surveys, knowledge, knowledge.ask.names.source(source)), out)
