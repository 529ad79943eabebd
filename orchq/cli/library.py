"""``orchq library``: many scores checked into one file of records."""

import json
from collections.abc import Iterator
from pathlib import Path
from typing import Annotated

import typer

from orchq.cli.failure import BROKEN_CALL, fail
from orchq.cli.options import Extensions, Level, Rules, Trust
from orchq.cli.progress import with_count
from orchq.cli.streams import say
from orchq.cli.survey import cores
from orchq.errors import OrchqError
from orchq.many_scores import (
    Checking,
    Summary,
    Task,
    keep_records,
    on_cluster,
    read_records,
    records,
)
from orchq.readers import FOREIGN_FORMATS, MUSICXML_SUFFIXES
from orchq.report.wording import one_line
from orchq.survey import score_files

_ROWS = 20  # of each table of the summary


def library(
    places: Annotated[
        list[Path],
        typer.Argument(metavar="FILE|DIR", help="Scores, and folders of scores."),
    ],
    out: Annotated[
        Path,
        typer.Option(
            "-o", "--out", metavar="OUT", help="Write a line of JSON for each file, as they come."
        ),
    ],
    jobs: Annotated[
        int | None,
        typer.Option(min=1, metavar="N", help="Check so many at once; by default one per core."),
    ] = None,
    resume: Annotated[
        bool, typer.Option("--resume", help="Keep the records in OUT that still hold.")
    ] = False,
    dask: Annotated[
        str | None,
        typer.Option(metavar="ADDRESS", help="Check on the workers of this Dask scheduler."),
    ] = None,
    level: Level = None,
    trust: Trust = None,
    extensions: Extensions = None,
    rules: Rules = None,
    advice: Annotated[
        bool, typer.Option("--advice", help="Try out what could be written instead.")
    ] = False,
) -> None:
    """Check many scores, each as a record, and print a summary by rule, composer and work.

    A file that cannot be read has a record with the reason. The exit code is 2 when there is
    such a file, 1 when there are violations.
    """
    slugs = None if rules is None else tuple(slug.strip() for slug in rules.split(","))
    checking = Checking(level, trust, slugs, tuple(map(str, extensions or ())), advice=advice)
    checking.project()  # so that a wrong option is reported once, not for each file
    state = checking.state()
    files = [str(file.path) for file in score_files(places, {*MUSICXML_SUFFIXES, *FOREIGN_FORMATS})]
    kept: dict[str, str] = {}
    if out.exists():
        if not resume:
            raise OrchqError(f"{out}: exists; --resume goes on with it, another name begins anew")
        kept = keep_records(out, state)
    tasks = (Task(file, checking, state) for file in files if file not in kept)
    found = on_cluster(dask, tasks) if dask else records(tasks, jobs or cores())
    try:
        _write(out, found, len(files), len(kept))
    except OSError as error:
        raise OrchqError(f"{out}: cannot be written: {error.strerror or error}") from error
    summary = Summary()
    for record in read_records(out):
        summary.add(record)
    _tell(summary)
    if summary.unread:
        raise typer.Exit(BROKEN_CALL)
    raise typer.Exit(int(summary.failing > 0))


def _write(out: Path, found: Iterator[str], total: int, done: int) -> None:
    with out.open("a", encoding="utf-8") as stream:
        for record in with_count(found, total, done):
            stream.write(record + "\n")
            stream.flush()
            told = json.loads(record)
            if "error" in told:
                fail(f"{told['file']}: {told['error']}")


def _tell(summary: Summary) -> None:
    say(f"{summary.files} files, {summary.unread} unread, {summary.notes} notes\n")
    for title, rows in summary.tables():
        say(f"\n{'violations':>10} {'warnings':>9} {'infos':>6}  {title}\n")
        for name, counts in rows[:_ROWS]:
            numbers = (counts[severity] for severity in ("violation", "warning", "info"))
            say("{:>10} {:>9} {:>6}  ".format(*numbers) + one_line(name, 60) + "\n")
        if len(rows) > _ROWS:
            say(f"{'':>28}and {len(rows) - _ROWS} more\n")
