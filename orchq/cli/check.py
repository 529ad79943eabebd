"""``orchq check``: findings in scores."""

import gc
from collections.abc import Iterator
from contextlib import contextmanager
from enum import StrEnum
from pathlib import Path
from typing import Annotated

import typer

import orchq
from orchq.cli.failure import BROKEN_CALL, explain, fail, known
from orchq.cli.output import check_out, deliver, look
from orchq.cli.progress import with_progress
from orchq.errors import OrchqError
from orchq.knowledge import Knowledge
from orchq.report import json_report, text_report
from orchq.report.engraved import check_installed, html_report
from orchq.rules.finding import SEVERITIES, FileReport
from orchq.terms import local_name


class ReportFormat(StrEnum):
    """How the report is written."""

    TEXT = "text"
    JSON = "json"
    HTML = "html"


class FailOn(StrEnum):
    """The mildest finding that makes the exit code 1."""

    VIOLATION = "violation"
    WARNING = "warning"
    INFO = "info"
    NEVER = "never"


class Engine(StrEnum):
    """Which SHACL engine runs the rules."""

    FAST = "fast"
    PYSHACL = "pyshacl"


Extensions = Annotated[
    list[Path] | None,
    typer.Option("--with", metavar="EXT.ttl", help="Add a Turtle file to the graph; repeatable."),
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
        FailOn, typer.Option(help="The mildest finding that makes the exit code 1.")
    ] = FailOn.VIOLATION,
    engine: Annotated[
        Engine,
        typer.Option(help="The engine: fast, or pyshacl as the slow reference."),
    ] = Engine.FAST,
    all_pages: Annotated[
        bool, typer.Option("--all-pages", help="Engrave the whole score (with --format html).")
    ] = False,
) -> None:
    """Report what string players cannot play as written, and who says so."""
    check_out(out, [*files, *(extensions or ())])
    if report_format is ReportFormat.HTML:
        check_installed()
    reports: list[FileReport] = []
    failed = False
    with _collector_paused():
        knowledge = orchq.load(extensions or ())
        if level is not None:
            known("level", local_name(level), map(local_name, knowledge.levels))
        if trust is not None:
            known("source", local_name(trust), map(local_name, knowledge.sources))
        chosen = _chosen_rules(rules, knowledge)
        for file in with_progress(files):
            try:
                report = orchq.check(
                    file,
                    knowledge=knowledge,
                    level=level,
                    trust=trust,
                    rules=chosen,
                    engine=engine.value,
                )
            except (OrchqError, OSError) as error:
                fail(explain(error))
                failed = True
            except Exception as error:  # noqa: BLE001 - must not hide the other files
                fail(f"{file}: {explain(error)}")
                failed = True
            else:
                reports.append(report)
            if len(files) > 1:
                gc.collect(0)

    if reports or report_format is ReportFormat.JSON:
        if report_format is ReportFormat.JSON:
            deliver(json_report(reports), out)
        elif report_format is ReportFormat.HTML:
            deliver(html_report(reports, knowledge, all_pages=all_pages), out)
        else:
            deliver(text_report(reports, **look(out)), out)
    if failed:
        raise typer.Exit(BROKEN_CALL)
    if any(_reaches(report, fail_on) for report in reports):
        raise typer.Exit(1)


@contextmanager
def _collector_paused() -> Iterator[None]:
    """Pause the collector of unreachable objects.

    A check makes hundreds of thousands of small objects that live until its report, and the
    collector would look at them again and again: a tenth of the whole time.
    """
    was_enabled = gc.isenabled()
    gc.disable()
    try:
        yield
    finally:
        if was_enabled:
            gc.enable()


def _chosen_rules(rules: str | None, knowledge: Knowledge) -> frozenset[str] | None:
    if rules is None:
        return None
    slugs = [rule.slug for rule in orchq.catalogue(knowledge)]
    return frozenset(known("rule", slug.strip(), slugs) for slug in rules.split(","))


def _reaches(report: FileReport, fail_on: FailOn) -> bool:
    if fail_on is FailOn.NEVER:
        return False
    grave = SEVERITIES[SEVERITIES.index(fail_on.value) :]
    return any(finding.severity in grave for finding in report.findings)
