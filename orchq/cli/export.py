"""``orchq export``: a score, or the graph itself, as triples."""

from enum import StrEnum
from pathlib import Path
from typing import Annotated

import typer

import orchq
from orchq.cli.options import Extensions, Level, Out, Trust
from orchq.cli.output import check_out, deliver
from orchq.errors import OrchqError


class TripleFormat(StrEnum):
    """Formats of triples."""

    TURTLE = "turtle"
    NT = "nt"
    JSONLD = "jsonld"
    OWL = "owl"


def export(
    score: Annotated[
        Path | None, typer.Argument(metavar="[SCORE]", help="A MusicXML score.")
    ] = None,
    out: Out = None,
    triple_format: Annotated[
        TripleFormat,
        typer.Option(
            "--format", help="Format of the triples; owl is RDF/XML, as OWL tools read it."
        ),
    ] = TripleFormat.TURTLE,
    whole_graph: Annotated[
        bool, typer.Option("--knowledge", help="Write the graph itself, for other programs.")
    ] = False,
    derived: Annotated[
        bool,
        typer.Option(
            "--derived",
            help="Add the facts that the rules need about a SCORE, for other SHACL engines.",
        ),
    ] = False,
    shapes: Annotated[
        bool, typer.Option("--shapes", help="Write all rules as one file of SHACL.")
    ] = False,
    base: Annotated[
        str | None,
        typer.Option(metavar="IRI", help="Begin the names of a score's nodes with this IRI."),
    ] = None,
    vocabulary: Annotated[
        bool,
        typer.Option(
            "--vocabulary", help="Write the vocabulary of excerpts, which imports nothing."
        ),
    ] = False,
    level: Level = None,
    trust: Trust = None,
    extensions: Extensions = None,
) -> None:
    """Write a score's notes and marks as triples, the graph as one ontology, or the rules."""
    if [score is not None, whole_graph, shapes, vocabulary].count(True) != 1:
        raise OrchqError("give either a SCORE, --knowledge, --shapes or --vocabulary")
    if (derived or base) and score is None:
        raise OrchqError(f"{'--derived' if derived else '--base'} needs a SCORE")
    if (level and not derived) or (trust and not (derived or whole_graph)):
        raise OrchqError("--level and --trust only apply to derived facts")
    check_out(out, [*([score] if score else ()), *map(Path, extensions or ())])
    knowledge = orchq.load(extensions or ())
    form = triple_format.value
    if shapes:
        deliver(orchq.export_shapes(knowledge, form), out)
    elif vocabulary:
        deliver(orchq.export_vocabulary(knowledge, form), out)
    elif score is None:
        deliver(orchq.export_knowledge(knowledge, form, trust=trust), out)
    else:
        triples = orchq.export(
            score,
            knowledge=knowledge,
            format=form,
            derived=derived,
            level=level,
            trust=trust,
            base=base,
        )
        deliver(triples, out)
