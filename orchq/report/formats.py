"""The report on a check in every format."""

from collections.abc import Callable, Mapping
from typing import TYPE_CHECKING, Literal, Unpack

from orchq.errors import known
from orchq.lazily import lazily
from orchq.project import Outcome
from orchq.report.github import github_report
from orchq.report.junit import junit_report
from orchq.report.machine import json_report
from orchq.report.sarif import sarif_report
from orchq.report.text import text_report
from orchq.report.text_page import Look
from orchq.report.validation import shacl_report

if TYPE_CHECKING:  # the other reports draw nothing
    from orchq.report import engraved
else:
    (engraved,) = lazily("orchq.report", "engraved")

ReportFormat = Literal["text", "json", "sarif", "junit", "github", "shacl", "html"]
"""The formats of a report."""

FOR_PROGRAMS: Mapping[ReportFormat, Callable[[Outcome], str]] = {
    "json": json_report,
    "sarif": sarif_report,
    "junit": junit_report,
    "github": github_report,
    "shacl": shacl_report,
}
"""Formats whose report is complete even when no file could be read."""


def check_format(form: ReportFormat) -> None:
    """Raise ``OrchqError`` when what writes the format is not installed."""
    if form == "html":
        engraved.check_installed()


def format_report(
    outcome: Outcome,
    form: ReportFormat = "text",
    *,
    all_pages: bool = False,
    fingering: bool = False,
    **look: Unpack[Look],
) -> str:
    """Return the report on a check: text, json, sarif, junit, github, shacl or html.

    ``shacl`` is a validation report in Turtle. ``all_pages`` engraves the whole score in HTML,
    ``fingering`` with the likeliest fingering at the notes;
    ``width`` in columns, ``colour`` and ``unicode`` are for text. Raises ``OrchqError`` for another
    format, and when what HTML needs is missing.
    """
    known("format", form, ("text", "html", *FOR_PROGRAMS))
    if form == "text":
        return text_report(outcome, **look)
    if form == "html":
        return engraved.html_report(outcome, all_pages=all_pages, fingering=fingering)
    return FOR_PROGRAMS[form](outcome)
