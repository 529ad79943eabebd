"""``orchq check``: findings in scores."""

import gc
from collections.abc import Callable, Iterator, Mapping
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
from orchq.report.github import github_report
from orchq.report.junit import junit_report
from orchq.report.outcome import Outcome, Unread
from orchq.report.sarif import sarif_report
from orchq.rules.catalogue import RuleInfo
from orchq.rules.finding import SEVERITIES, FileReport, Severity
from orchq.terms import local_name


class ReportFormat(StrEnum):
    """How the report is written."""

    TEXT = "text"
    JSON = "json"
    SARIF = "sarif"
    JUNIT = "junit"
    GITHUB = "github"


_FOR_PROGRAMS: Mapping[ReportFormat, Callable[[Outcome], str]] = {
    ReportFormat.JSON: lambda outcome: json_report(outcome.reports),
    ReportFormat.SARIF: sarif_report,
    ReportFormat.JUNIT: junit_report,
    ReportFormat.GITHUB: github_report,
}
"""What writes a report that is complete even when no file could be read."""


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
) -> None:
    """Report what string players cannot play as written, and who says so."""
    check_out(out, [*files, *(extensions or ())])
    reports: list[FileReport] = []
    unread: list[Unread] = []
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
            except Exception as error:  # noqa: BLE001 - must not hide the other files
                told = explain(error)
                expected = isinstance(error, OrchqError | OSError)
                fail(told if expected else f"{file}: {told}")
                unread.append(Unread.told(str(file), told))
            else:
                reports.append(report)
            if len(files) > 1:
                gc.collect(0)

    outcome = Outcome(
        tuple(reports), tuple(unread), _rules_run(chosen, knowledge), _failing(fail_on)
    )
    if write := _FOR_PROGRAMS.get(report_format):
        deliver(write(outcome), out)
    elif reports:
        deliver(text_report(reports, **look(out)), out)
    if unread:
        raise typer.Exit(BROKEN_CALL)
    if outcome.fails:
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


def _rules_run(chosen: frozenset[str] | None, knowledge: Knowledge) -> tuple[RuleInfo, ...]:
    rules = orchq.catalogue(knowledge)
    return tuple(rule for rule in rules if chosen is None or rule.slug in chosen)


def _failing(fail_on: FailOn) -> frozenset[Severity]:
    if fail_on is FailOn.NEVER:
        return frozenset()
    return frozenset(SEVERITIES[SEVERITIES.index(fail_on.value) :])
