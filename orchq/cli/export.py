"""``orchq export``: a score as triples."""

from enum import StrEnum
from pathlib import Path
from typing import Annotated

import typer

import orchq
from orchq.cli.check import Extensions
from orchq.cli.output import check_out, deliver


class TripleFormat(StrEnum):
    """How triples are written."""

    TURTLE = "turtle"
    NT = "nt"
    JSONLD = "jsonld"


def export(
    score: Annotated[Path, typer.Argument(metavar="SCORE", help="A MusicXML score.")],
    out: Annotated[
        Path | None,
        typer.Option("-o", "--out", metavar="OUT", help="Write the triples to this file."),
    ] = None,
    triple_format: Annotated[
        TripleFormat, typer.Option("--format", help="How the triples are written.")
    ] = TripleFormat.TURTLE,
    extensions: Extensions = None,
) -> None:
    """Write a score's notes and marks as triples."""
    check_out(out, [score, *(extensions or ())])
    knowledge = orchq.load(extensions or ())
    deliver(orchq.export(score, knowledge=knowledge, format=triple_format.value), out)
