"""``orchq difficulty``: how hard each part is, and what makes it so."""

from pathlib import Path
from typing import Annotated

import typer

import orchq
from orchq.cli.options import AsJson, Extensions, Level, Out, TextOrJson, Trust
from orchq.cli.output import check_out, deliver, look
from orchq.report.difficulty_report import difficulty_json, difficulty_text


def difficulty(
    score: Annotated[Path, typer.Argument(metavar="FILE", help="A score.")],
    out: Out = None,
    result_format: TextOrJson = "text",
    as_json: AsJson = False,
    level: Level = None,
    trust: Trust = None,
    extensions: Extensions = None,
) -> None:
    """Grade the parts of a score from a student's to a soloist's, with the hardest measures.

    A measure is graded by the easiest path of the left hand through it and the time available.
    """
    check_out(out, [score, *map(Path, extensions or ())])
    knowledge = orchq.load(extensions or ())
    parts = orchq.difficulty(score, knowledge=knowledge, level=level, trust=trust)
    if as_json or result_format == "json":
        deliver(difficulty_json(parts), out)
    else:
        deliver(difficulty_text(parts, unicode=look(out)["unicode"]), out)
