"""The report for people: a list such as a copyist returns with a score."""

from collections import Counter
from collections.abc import Sequence
from pathlib import PurePath
from typing import Unpack

from orchq.knowledge.shipped_names import shipped_with
from orchq.project import Outcome
from orchq.report.text_page import STYLES, Look, Page
from orchq.report.wording import (
    attributions,
    counted,
    extensions_in_force,
    file_names,
    heading,
    one_line,
    other_places,
    part_name,
    part_title,
    pitches,
    place,
    severity_counts,
    shortened,
)
from orchq.rules.finding import FileReport, Finding


def text_report(
    outcome: Outcome,
    **look: Unpack[Look],
) -> str:
    """Return the findings of the files, part by part, with a last line of counts.

    ``width`` is in columns; ``colour`` adds terminal colours; ``unicode`` is false where only
    ASCII can be shown.
    """
    page = Page(**look)
    reports = outcome.reports
    for settings in dict.fromkeys(report.settings for report in reports if report.settings):
        page.line(f"Settings in force: {one_line(settings)}", hang=2)
        page.line()
    for extension in extensions_in_force(outcome.extensions):
        page.line(extension, hang=2)
        page.line()
    names = file_names(reports)
    for number, report in enumerate(reports):
        if number:
            page.line()
        _write_file(page, report, names[report.file])
    if len(reports) > 1:
        page.line()
        page.line(f"{counted(len(reports), 'file')}: {counts(reports)}", "bold", hang=2)
    return page.text()


def _write_file(page: Page, report: FileReport, name: str) -> None:
    page.line(name, "bold underline")
    if title := heading(report):
        page.line(title, hang=2)
    page.line()
    number = 0
    for part in report.parts:
        found = [finding for finding in report.findings if finding.part_index == part.index]
        if not found:
            continue
        page.line(part_title(part), "bold", hang=2)
        page.line()
        for finding in found:
            number += 1
            _write_finding(page, number, finding)
    _write_accepted(page, report)
    _write_rest(page, report)
    page.line(f"{name}: {counts([report])}", "bold", hang=2)


def _write_finding(page: Page, number: int, finding: Finding) -> None:
    page.line(f"{number:>4}  {where(finding)}", hang=6)
    page.entry(
        page.severity(finding.severity),
        one_line(finding.message, 2000),
        STYLES[finding.severity],
        indent=6,
    )
    if finding.changed_from:
        page.entry("changed", f"by the settings, from {finding.changed_from}", "dim", indent=6)
    label = "who says so"
    for says in shortened(attributions(finding)):
        page.entry(label, says, "dim", indent=6)
        label = ""
    label = "instead"
    for proposal in finding.instead:
        checked = "" if proposal.verified else " (not checked)"
        page.entry(label, one_line(proposal.do, 500) + checked, "dim", indent=6)
        label = "or"
    if others := other_places(finding):
        page.entry("here too", others, "dim", indent=6)
    page.entry("rule", one_line(finding.rule), "dim", indent=6)
    page.line()


def file_name(report: FileReport) -> str:
    """The name of the file, without its folders."""
    return one_line(PurePath(report.file).name)


def where(finding: Finding) -> str:
    """Measure, beat and pitches of a finding."""
    notes = pitches(finding)
    return f"{place(finding)}: {notes}" if notes else place(finding)


def _write_accepted(page: Page, report: FileReport) -> None:
    """List what is accepted, and why; what a baseline holds is only counted."""
    if not report.accepted:
        return
    page.line("Accepted", "bold")
    page.line()
    known = Counter(each.reason for each in report.accepted if each.where == "baseline")
    for each in report.accepted:
        if each.where != "baseline":
            finding = each.finding
            part = one_line(finding.part, 80)
            page.line(f"{part}, {where(finding)}: {one_line(finding.rule)}", indent=6, hang=2)
            page.entry(f"in {each.where}", one_line(each.reason, 1000), "dim", indent=6)
    for reason, count in known.items():
        page.line(f"{counted(count, 'finding')} {one_line(reason)}", indent=6, hang=2)
    page.line()


def _write_rest(page: Page, report: FileReport) -> None:
    found = {finding.part_index for finding in report.findings}
    found.update(each.finding.part_index for each in report.accepted)
    checked = [part for part in report.parts if part.checked]
    quiet = [part_name(part.name, part.index) for part in checked if part.index not in found]
    skipped = [part_name(part.name, part.index) for part in report.parts if not part.checked]
    if quiet:
        page.line(f"Nothing to report: {', '.join(quiet)}.", hang=2)
    if skipped:
        page.line(f"Not checked, no string instrument known: {', '.join(skipped)}.", hang=2)
    for part in report.parts:
        extension = None if part.checked else shipped_with(part.name)
        if extension is not None:
            name = part_name(part.name, part.index)
            page.line(f"{name} is checked with a shipped extension: add --with {extension}", hang=2)
    for remark in dict.fromkeys(report.remarks):
        page.line(f"Remark: {one_line(remark, 1000)}", hang=2)
    if quiet or skipped or report.remarks:
        page.line()


def counts(reports: Sequence[FileReport]) -> str:
    """Findings by severity, what was checked, and the seconds it took."""
    findings = (finding for report in reports for finding in report.findings)
    accepted = sum(len(report.accepted) for report in reports)
    suffix = f" ({accepted:,} accepted)" if accepted else ""
    parts = sum(part.checked for report in reports for part in report.parts)
    notes = sum(report.notes for report in reports)
    seconds = sum(report.seconds.total for report in reports)
    return (
        f"{severity_counts(findings)}{suffix} in {counted(parts, 'part')}, "
        f"{counted(notes, 'note')}; {seconds:.1f} s"
    )
