"""The page put together: template, style, script, and what is shown of each file."""

from collections import Counter
from collections.abc import Iterable
from pathlib import Path

from orchq.project import Outcome
from orchq.project.before_after import before_after
from orchq.questions import load_graph
from orchq.report.engraved.engraving import check_installed, text_font
from orchq.report.engraved.sections import section_of
from orchq.report.engraved.system_drawing import Glyphs
from orchq.report.web import document
from orchq.report.wording import extensions_in_force, severity_counts
from orchq.rules.finding import FileReport
from orchq.severity import SEVERITIES

_HERE = Path(__file__).parent


def html_report(outcome: Outcome, *, all_pages: bool = False, engraved: bool = True) -> str:
    """Return one HTML document with the findings of the files beside the engraved score.

    The files are read again to be engraved. Only systems with findings are shown unless
    ``all_pages`` is true; of what cannot be engraved, such as excerpts in triples, and of all when
    not ``engraved``, a table of the events concerned. The document fetches nothing. Raises
    ``OrchqError`` when verovio or Jinja2 is not installed, ``ReadError`` when a file can no longer
    be read.
    """
    check_installed()
    glyphs = Glyphs()
    knowledge = outcome.knowledge or load_graph()
    sections = [
        section_of(
            report,
            number,
            knowledge,
            glyphs,
            all_pages=all_pages,
            engraved=engraved,
            passages=before_after(report, outcome.judge) if engraved and outcome.judge else {},
        )
        for number, report in enumerate(outcome.reports, 1)
    ]
    entries = [entry for section in sections for entry in section.entries]
    named = _rules_named(outcome.reports)
    return document(
        _HERE / "report.html.jinja",
        more_style=text_font() if glyphs.needs_font else "",
        sections=sections,
        counts=severity_counts(entry.finding for entry in entries),
        severities=[
            (severity, sum(entry.finding.severity == severity for entry in entries))
            for severity in reversed(SEVERITIES)
        ],
        parts=_counted(entry.part for entry in entries),
        rules=sorted(_counted(entry.rule for entry in entries)),
        extensions=extensions_in_force(outcome.extensions),
        explained=[rule for rule in outcome.rules if rule.slug in named],
        glyphs=glyphs.definitions(),
    )


def _rules_named(reports: Iterable[FileReport]) -> set[str]:
    findings = {finding.rule for report in reports for finding in report.findings}
    return findings | {each.finding.rule for report in reports for each in report.accepted}


def _counted(names: Iterable[str]) -> list[tuple[str, int]]:
    """Each name with how often it came, in the order in which it first did."""
    return list(Counter(names).items())
