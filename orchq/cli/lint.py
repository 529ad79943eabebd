"""``orchq lint`` and ``orchq new``: extensions of the ontology, checked and begun."""

from enum import StrEnum
from importlib import import_module
from pathlib import Path
from typing import Annotated

import typer

from orchq.cli.failure import BROKEN_CALL, FailOn, fail
from orchq.cli.output import check_out, deliver
from orchq.errors import OrchqError


class LintFormat(StrEnum):
    """How the report is written."""

    TEXT = "text"
    JSON = "json"
    SARIF = "sarif"


def lint(
    files: Annotated[
        list[Path] | None, typer.Argument(metavar="[EXT.ttl]...", help="Extensions in Turtle.")
    ] = None,
    reason: Annotated[
        bool, typer.Option("--reason", help="Prove consistency with a reasoner; needs Java.")
    ] = False,
    report_format: Annotated[
        LintFormat, typer.Option("--format", help="How the report is written.")
    ] = LintFormat.TEXT,
    out: Annotated[
        Path | None,
        typer.Option("-o", "--out", metavar="OUT", help="Write the report to this file."),
    ] = None,
    fail_on: Annotated[
        FailOn, typer.Option(help="The mildest fault that makes the exit code 1.")
    ] = FailOn.VIOLATION,
) -> None:
    """Tell what is missing, misspelt, out of order or contradictory in extensions."""
    if not files and not reason:
        raise OrchqError("give an extension to lint, or --reason for the ontology itself")
    check_out(out, files or [])
    # Loaded only here, since the other commands should not wait for them.
    report = import_module("orchq.lint").lint(files or [], reason=reason)
    for _, sentence in report.unread:
        fail(sentence)
    if report_format is not LintFormat.TEXT or report.files or not report.unread:
        writer = getattr(import_module("orchq.report.lint"), f"lint_{report_format.value}")
        deliver(writer(report), out)
    if report.unread:
        raise typer.Exit(BROKEN_CALL)
    if any(fault.severity in fail_on.severities for fault in report.faults):
        raise typer.Exit(1)


new = typer.Typer(help="Begin an extension.", rich_markup_mode=None)


@new.callback()
def _new() -> None:
    """Begin an extension."""


@new.command(short_help="Write the skeleton of an instrument.")
def instrument(
    name: Annotated[str, typer.Argument(metavar="NAME", help="Its English name.")],
    out: Annotated[
        Path | None,
        typer.Option("-o", "--out", metavar="OUT.ttl", help="Write to this new file."),
    ] = None,
) -> None:
    """Write Turtle with the questions to answer about an instrument."""
    check_out(out, [])
    if out is not None and out.exists():
        raise OrchqError(f"{out}: there is such a file already, and it is kept")
    deliver(import_module("orchq.lint").skeleton(name), out)
