"""``orchq check``: findings in scores."""

from collections.abc import Callable, Mapping
from enum import StrEnum
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from orchq.baseline import baseline_of, read_baseline
from orchq.cli.checking import Checker, chosen_settings, collector_paused
from orchq.cli.failure import BROKEN_CALL, FailOn, fail
from orchq.cli.output import check_out, deliver, look
from orchq.cli.watch import watch
from orchq.errors import OrchqError
from orchq.lazily import lazily
from orchq.report.github import github_report
from orchq.report.junit import junit_report
from orchq.report.machine import json_report
from orchq.report.outcome import Outcome
from orchq.report.sarif import sarif_report
from orchq.report.text import text_report

if TYPE_CHECKING:  # the other reports do not draw
    from orchq.report import engraved
else:
    (engraved,) = lazily("orchq.report", "engraved")


class ReportFormat(StrEnum):
    """How the report is written."""

    TEXT = "text"
    JSON = "json"
    SARIF = "sarif"
    JUNIT = "junit"
    GITHUB = "github"
    HTML = "html"


_FOR_PROGRAMS: Mapping[ReportFormat, Callable[[Outcome], str]] = {
    ReportFormat.JSON: lambda outcome: json_report(outcome.reports),
    ReportFormat.SARIF: sarif_report,
    ReportFormat.JUNIT: junit_report,
    ReportFormat.GITHUB: github_report,
}
"""What writes a report that is complete even when no file could be read."""


class Engine(StrEnum):
    """Which SHACL engine runs the rules."""

    FAST = "fast"
    PYSHACL = "pyshacl"


Extensions = Annotated[
    list[str] | None,
    typer.Option(
        "--with",
        metavar="EXT",
        help="Add a folder or file of your own, or a shipped extension by name; repeatable.",
    ),
]


def check(
    files: Annotated[
        list[Path],
        typer.Argument(metavar="FILE", help="MusicXML scores, or excerpts as triples."),
    ],
    report_format: Annotated[
        ReportFormat, typer.Option("--format", help="How the report is written.")
    ] = ReportFormat.TEXT,
    out: Annotated[
        Path | None,
        typer.Option("-o", "--out", metavar="OUT", help="Write the report to this file."),
    ] = None,
    level: Annotated[
        str | None,
        typer.Option(metavar="LEVEL", help="Who plays: student, orchestral or soloist."),
    ] = None,
    trust: Annotated[
        str | None,
        typer.Option(metavar="SOURCE", help="Follow this authority where sources disagree."),
    ] = None,
    extensions: Extensions = None,
    rules: Annotated[
        str | None,
        typer.Option(metavar="NAME,...", help="Run only these rules (see orchq rules)."),
    ] = None,
    fail_on: Annotated[
        FailOn | None,
        typer.Option(help="The mildest finding that makes the exit code 1; else violation."),
    ] = None,
    engine: Annotated[
        Engine,
        typer.Option(help="The engine: fast, or pyshacl as the slow reference."),
    ] = Engine.FAST,
    baseline: Annotated[
        Path | None,
        typer.Option(metavar="FILE", help="Accept the findings known in this file."),
    ] = None,
    write_baseline: Annotated[
        Path | None,
        typer.Option(metavar="FILE", help="Write all findings to this file, as known from now on."),
    ] = None,
    watching: Annotated[
        bool, typer.Option("--watch", help="Check again whenever a file is saved.")
    ] = False,
    settings_file: Annotated[
        Path | None,
        typer.Option("--settings", metavar="FILE", help="Take the project settings of this file."),
    ] = None,
    no_settings: Annotated[
        bool, typer.Option("--no-settings", help="Take no project settings.")
    ] = False,
    all_pages: Annotated[
        bool, typer.Option("--all-pages", help="Engrave the whole score (with --format html).")
    ] = False,
    advice: Annotated[
        bool,
        typer.Option("--advice/--no-advice", help="Try out what can be written instead."),
    ] = True,
) -> None:
    """Report what string players cannot play as written, and who says so."""
    settings = chosen_settings(settings_file, none=no_settings)
    if baseline and write_baseline:
        raise OrchqError("give either --baseline or --write-baseline")
    known = read_baseline(baseline) if baseline else None
    own = (*(settings.files if settings else ()), *map(Path, extensions or ()))
    check_out(out, [*files, *own, *([baseline] if baseline else ())])
    check_out(write_baseline, [*files, *own])
    if watching and (out or write_baseline or report_format is not ReportFormat.TEXT):
        raise OrchqError("--watch writes text to the terminal, and neither files nor formats")
    if report_format is ReportFormat.HTML:
        engraved.check_installed()
    with collector_paused():
        checker = Checker(
            settings,
            known,
            level=level,
            trust=trust,
            extensions=extensions or (),
            rules=rules,
            engine=engine.value,
            advice=advice,
        )
        if watching:
            watch(files, checker)
            return
        reports, unread = checker.reports(files)
    if write_baseline and unread:
        fail(f"{write_baseline}: not written, since not all files could be checked")
    elif write_baseline:
        written = baseline_of(reports, write_baseline)
        deliver(written.text(), write_baseline)
        reports = [written.accepting(report) for report in reports]

    threshold = fail_on or FailOn((settings and settings.fail_on) or FailOn.VIOLATION)
    outcome = Outcome(tuple(reports), tuple(unread), checker.rules, threshold.severities)
    if write := _FOR_PROGRAMS.get(report_format):
        deliver(write(outcome), out)
    elif reports and report_format is ReportFormat.HTML:
        deliver(engraved.html_report(reports, checker.knowledge, all_pages=all_pages), out)
    elif reports:
        deliver(text_report(reports, **look(out)), out)
    if unread:
        raise typer.Exit(BROKEN_CALL)
    if outcome.fails:
        raise typer.Exit(1)
