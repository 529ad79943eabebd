"""Outcomes, reports and answers as notebooks show them."""

from html import escape

from orchq.errors import OrchqError
from orchq.project import Outcome
from orchq.questions import Answer, Answers, load_graph
from orchq.report import plots
from orchq.report.engraved import html_report
from orchq.rules.checking import rules_of
from orchq.rules.finding import FileReport

_FRAME = (
    '<iframe title="Report" sandbox="allow-scripts" srcdoc="{}"'
    ' style="width: 100%; height: 44rem; border: 0"></iframe>'
)
"""A report is a page with a style and keys of its own: it stays apart from the notebook."""


def outcome_html(outcome: Outcome) -> str | None:
    """The engraved report in a frame; ``None`` when a library for it is not installed."""
    try:
        return _FRAME.format(escape(html_report(outcome)))
    except OrchqError:
        return None


def report_html(report: FileReport) -> str | None:
    """The engraved report on one file; ``None`` as for ``outcome_html``."""
    graph = load_graph()
    return outcome_html(Outcome((report,), rules_of(graph)[0], knowledge=graph))


def answers_svg(answers: Answers[Answer]) -> str | None:
    """The answers drawn; ``None`` when this question is not, or nothing draws it."""
    try:
        return plots.plot_svg(answers, load_graph())
    except OrchqError:
        return None
