"""``orchq export``: a score, or the graph itself, as triples."""

from enum import StrEnum
from pathlib import Path
from typing import Annotated

import typer

import orchq
from orchq.cli.extensions import Extensions, Trust
from orchq.cli.output import check_out, deliver
from orchq.errors import OrchqError


class TripleFormat(StrEnum):
    """How triples are written."""

    TURTLE = "turtle"
    NT = "nt"
    JSONLD = "jsonld"
    OWL = "owl"


def export(
    score: Annotated[
        Path | None, typer.Argument(metavar="[SCORE]", help="A MusicXML score.")
    ] = None,
    out: Annotated[
        Path | None,
        typer.Option("-o", "--out", metavar="OUT", help="Write the triples to this file."),
    ] = None,
    triple_format: Annotated[
        TripleFormat,
        typer.Option("--format", help="How the triples are written; owl is OWL in RDF/XML."),
    ] = TripleFormat.TURTLE,
    whole_graph: Annotated[
        bool, typer.Option("--knowledge", help="Write the graph itself, for other programs.")
    ] = False,
    trust: Trust = None,
    extensions: Extensions = None,
) -> None:
    """Write a score's notes and marks as triples, or the graph as one ontology."""
    if whole_graph == (score is not None):
        raise OrchqError("give either a SCORE or --knowledge")
    check_out(out, [*([score] if score else ()), *map(Path, extensions or ())])
    knowledge = orchq.load(extensions or ())
    if score is None:
        deliver(orchq.export_knowledge(knowledge, triple_format.value, trust=trust), out)
    else:
        deliver(orchq.export(score, knowledge=knowledge, format=triple_format.value), out)
