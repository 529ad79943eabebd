"""Findings gathered: one habit is one finding, with all its places."""

from collections.abc import Iterable
from dataclasses import replace

from orchq.rules.finding import Accepted, FileReport, Finding


def gathered(report: FileReport) -> FileReport:
    """The report with one finding for each rule, severity, part and cause.

    A finding stands where its first place is, and has that place's words, evidence and proposals.
    """
    return replace(
        report,
        findings=tuple(_gathered(report.findings)),
        accepted=tuple(
            Accepted(finding, reason, where)
            for reason, where in dict.fromkeys(
                (each.reason, each.where) for each in report.accepted
            )
            for finding in _gathered(
                each.finding
                for each in report.accepted
                if (each.reason, each.where) == (reason, where)
            )
        ),
    )


def _gathered(findings: Iterable[Finding]) -> list[Finding]:
    alike: dict[object, list[Finding]] = {}
    for each in findings:
        key = each.part_index, each.rule, each.severity, each.changed_from, each.cause
        alike.setdefault(key, []).append(each)
    return [replace(same[0], places=tuple(each.place for each in same)) for same in alike.values()]
