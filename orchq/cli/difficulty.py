"""``orchq difficulty``: how hard each part is, and what makes it so."""

from pathlib import Path
from typing import Annotated

import typer

import orchq
from orchq.cli.options import Extensions
from orchq.cli.output import check_out, deliver, look
from orchq.report.difficulty_report import difficulty_json, difficulty_text


def difficulty(
    score: Annotated[Path, typer.Argument(metavar="FILE", help="A score.")],
    out: Annotated[
        Path | None,
        typer.Option("-o", "--out", metavar="OUT", help="Write the report to this file."),
    ] = None,
    as_json: Annotated[bool, typer.Option("--json", help="Write JSON.")] = False,
    level: Annotated[
        str | None,
        typer.Option(metavar="LEVEL", help="Whose reach counts: student, orchestral or soloist."),
    ] = None,
    trust: Annotated[
        str | None,
        typer.Option(metavar="SOURCE", help="Follow this authority where sources disagree."),
    ] = None,
    extensions: Extensions = None,
) -> None:
    """Grade the parts of a score from a student's to a soloist's, with the hardest measures.

    A measure is graded by the easiest path of the left hand through it and the time available.
    """
    check_out(out, [score, *map(Path, extensions or ())])
    knowledge = orchq.load(extensions or ())
    parts = orchq.difficulty(score, knowledge=knowledge, level=level, trust=trust)
    if as_json:
        deliver(difficulty_json(parts), out)
    else:
        deliver(difficulty_text(parts, unicode=look(out)["unicode"]), out)
