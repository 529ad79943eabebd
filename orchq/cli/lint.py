"""``orchq lint``: extensions of the ontology, checked."""

from collections.abc import Callable, Mapping
from pathlib import Path
from typing import Annotated, Literal

import typer

from orchq.cli.failure import BROKEN_CALL, fail
from orchq.cli.options import AsJson, Out
from orchq.cli.output import check_out, deliver
from orchq.errors import OrchqError
from orchq.lint import LintReport
from orchq.lint import lint as lint_files
from orchq.report.lint_report import lint_json, lint_sarif, lint_text
from orchq.severity import Threshold, failing

LintFormat = Literal["text", "json", "sarif"]
"""Formats of the report."""

_WRITERS: Mapping[LintFormat, Callable[[LintReport], str]] = {
    "text": lint_text,
    "json": lint_json,
    "sarif": lint_sarif,
}


def lint(
    files: Annotated[
        list[Path] | None, typer.Argument(metavar="[EXT.ttl]...", help="Extensions in Turtle.")
    ] = None,
    reason: Annotated[
        bool, typer.Option("--reason", help="Prove consistency with a reasoner; needs Java.")
    ] = False,
    report_format: Annotated[
        LintFormat, typer.Option("--format", help="Format of the report.")
    ] = "text",
    as_json: AsJson = False,
    out: Out = None,
    fail_on: Annotated[
        Threshold, typer.Option(help="The mildest fault that makes the exit code 1.")
    ] = "violation",
) -> None:
    """Report what is missing, misspelt, invalid or contradictory in extensions."""
    if not files and not reason:
        raise OrchqError("give an extension to lint, or --reason for the ontology itself")
    if as_json:
        report_format = "json"
    check_out(out, files or [])
    report = lint_files(files or [], reason=reason)
    for _, sentence in report.unread:
        fail(sentence)
    if report_format != "text" or report.files or not report.unread:
        deliver(_WRITERS[report_format](report), out)
    if report.unread:
        raise typer.Exit(BROKEN_CALL)
    if any(fault.severity in failing(fail_on) for fault in report.faults):
        raise typer.Exit(1)
