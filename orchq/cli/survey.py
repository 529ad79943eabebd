"""``orchq survey``: what scores ask of string players, as tables."""

import os
from pathlib import Path
from typing import Annotated

import typer

import orchq
from orchq.cli.failure import BROKEN_CALL, fail
from orchq.cli.options import Extensions
from orchq.cli.output import deliver, refuse_foreign
from orchq.cli.progress import with_progress
from orchq.cli.streams import say
from orchq.readers import FOREIGN_FORMATS, MUSICXML_SUFFIXES
from orchq.report.survey import survey_page
from orchq.survey import Survey, pyarrow, score_files
from orchq.survey.stored_surveys import read_surveys


def survey(
    places: Annotated[
        list[Path],
        typer.Argument(metavar="FILE|DIR", help="Scores, and folders of scores."),
    ],
    out: Annotated[
        Path,
        typer.Option("-o", "--out", metavar="DIR", help="Write the tables to this folder."),
    ],
    jobs: Annotated[
        int | None,
        typer.Option(
            min=1, metavar="N", help="Measure this many files at once; by default one per core."
        ),
    ] = None,
    extensions: Extensions = None,
) -> None:
    """Measure what scores ask of their string parts, and write it as tables.

    An interrupted survey resumes when it is run again. The exit code is 2 when a file named on the
    command line cannot be read, or no file at all; unreadable files in folders are reported and
    counted.
    """
    pyarrow()
    refuse_foreign(out / "index.html")
    files = score_files(places, {*MUSICXML_SUFFIXES, *FOREIGN_FORMATS})
    surveying = Survey(out, orchq.read, tuple(extensions or ())).begun()
    outcomes = []
    measuring = surveying.outcomes(files, jobs or cores())
    for _, outcome in zip(with_progress([file.path for file in files]), measuring, strict=True):
        outcomes.append(outcome)
        if outcome.result is None:
            fail(outcome.error)
    unread = [outcome.file.path for outcome in outcomes if outcome.result is None]
    if len(unread) < len(files):
        surveying.write(outcomes)
        page = survey_page(read_surveys([out]), orchq.load(extensions or ()))
        deliver(page, out / "index.html", named=False)
        say(f"{out}: {len(files) - len(unread)} of {len(files)} files measured\n")
    if len(unread) == len(files) or not set(unread).isdisjoint(places):
        raise typer.Exit(BROKEN_CALL)


def cores() -> int:
    """Return how many cores this process may use."""
    allowed = getattr(os, "sched_getaffinity", None)  # not on every system
    return len(allowed(0)) if allowed else os.cpu_count() or 1
