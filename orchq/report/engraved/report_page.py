"""The page put together: template, style, script, and what is shown of each file."""

from collections import Counter
from collections.abc import Iterable
from pathlib import Path
from typing import TYPE_CHECKING

from orchq.knowledge import Knowledge
from orchq.lazily import lazily
from orchq.project import Outcome
from orchq.project.before_after import before_after
from orchq.questions import load_graph
from orchq.report.dates import date_words, report_date
from orchq.report.engraved.engraving import FingeredFor, text_font
from orchq.report.engraved.sections import section_of
from orchq.report.engraved.system_drawing import Glyphs
from orchq.report.web import check_installed, document
from orchq.report.wording import basis_name, extensions_in_force, one_line, severity_counts
from orchq.rules.finding import FileReport
from orchq.severity import SEVERITIES
from orchq.terms import local_name

if TYPE_CHECKING:
    from orchq.report import stop_pictures
else:
    (stop_pictures,) = lazily("orchq.report", "stop_pictures")

_HERE = Path(__file__).parent


def html_report(
    outcome: Outcome, *, all_pages: bool = False, engraved: bool = True, fingering: bool = False
) -> str:
    """Return one HTML document with the findings of the files beside the engraved score.

    The files are read again to be engraved. Only systems with findings are shown unless
    ``all_pages`` is true; of what cannot be engraved, such as excerpts in triples, and of all when
    not ``engraved``, a table of the events concerned. ``fingering`` draws the likeliest fingering
    at the notes. The document fetches nothing. Raises ``OrchqError`` when verovio or Jinja2 is not
    installed, ``ReadError`` when a file can no longer be read.
    """
    check_installed()
    glyphs = Glyphs()
    knowledge = outcome.knowledge or load_graph()
    judge = outcome.judge
    whose = FingeredFor(judge.level, judge.trust) if judge else FingeredFor()
    sections = [
        section_of(
            report,
            number,
            knowledge,
            glyphs,
            all_pages=all_pages,
            engraved=engraved,
            passages=before_after(report, judge) if engraved and judge else {},
            boards=stop_pictures.stop_pictures(
                report, outcome.rules, knowledge, level=whose.level, trust=whose.trust
            )
            if engraved
            else {},
            fingered=whose if fingering else None,
        )
        for number, report in enumerate(outcome.reports, 1)
    ]
    entries = [entry for section in sections for entry in section.entries]
    named = _rules_named(outcome.reports)
    return document(
        _HERE / "report.html.jinja",
        more_style=text_font() if glyphs.needs_font else "",
        sections=sections,
        date=date_words(report_date()),
        trust=_trusted(outcome, knowledge),
        fingering=fingering,
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


def _trusted(outcome: Outcome, knowledge: Knowledge) -> str:
    """The one authority that the check followed, empty where it weighed all."""
    trust = outcome.judge.trust if outcome.judge else None
    if not trust:
        return ""
    source = knowledge.sources.get(trust)
    return one_line(source.label) if source else basis_name(local_name(trust))


def _rules_named(reports: Iterable[FileReport]) -> set[str]:
    findings = {finding.rule for report in reports for finding in report.findings}
    return findings | {each.finding.rule for report in reports for each in report.accepted}


def _counted(names: Iterable[str]) -> list[tuple[str, int]]:
    """Each name with how often it came, in the order in which it first did."""
    return list(Counter(names).items())
