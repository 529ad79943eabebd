"""``orchq lesson``: a teacher's sheet on a technique or a register."""

from pathlib import Path
from typing import Annotated

import typer

import orchq
from orchq.cli.options import Extensions, Out
from orchq.cli.output import check_out, deliver
from orchq.report.lesson import LessonPlan, lesson_page
from orchq.report.wording import file_names_of


def lesson(
    scores: Annotated[
        list[Path] | None, typer.Argument(metavar="FILE", help="Scores to find places in.")
    ] = None,
    technique: Annotated[
        str | None, typer.Option("--technique", metavar="NAME", help="A lesson about a technique.")
    ] = None,
    register: Annotated[
        str | None, typer.Option("--register", metavar="NAME", help="A lesson about a register.")
    ] = None,
    on: Annotated[
        str | None, typer.Option("--on", metavar="INSTRUMENT", help="The instrument of the lesson.")
    ] = None,
    seed: Annotated[
        int, typer.Option("--seed", metavar="N", help="Another quiz for each number.")
    ] = 1,
    out: Out = None,
    extensions: Extensions = None,
) -> None:
    """Write a teacher's sheet: places in scores, exercises, and a quiz with answers and sources.

    Without scores the places are those of the index of open scores. Print it: quiz and answers are
    pages of their own.
    """
    check_out(out, [*(scores or ()), *map(Path, extensions or ())])
    graph = orchq.load(extensions or ())
    names = file_names_of([str(path) for path in scores or ()])
    read = {names[str(path)]: orchq.read(path, graph) for path in scores} if scores else None
    plan = LessonPlan(technique, register, on, seed)
    deliver(lesson_page(graph, plan, read), out)
