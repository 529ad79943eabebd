"""What a new check of a file found that the one before did not, and the other way round."""

from collections.abc import Iterable
from typing import Unpack

from orchq.baseline import known_of, unpaired
from orchq.report.text import counts, file_name, where
from orchq.report.text_page import STYLES, Look, Page
from orchq.report.wording import one_line
from orchq.rules.finding import FileReport, Finding
from orchq.rules.gathering import spread


def change_report(
    before: FileReport,
    now: FileReport,
    **look: Unpack[Look],
) -> str:
    """Return the findings that are new and those that are gone, with a last line of counts.

    Findings are compared as a baseline compares them, place by place.
    """
    page = Page(**look)
    earlier, later = spread(before).findings, spread(now).findings
    gone, new = unpaired(list(map(known_of, earlier)), list(map(known_of, later)))
    _write(page, "new", (later[place] for place in new))
    _write(page, "gone", (earlier[place] for place in gone))
    page.line(
        f"{file_name(now)}: {len(new):,} new, {len(gone):,} gone; now {counts([now])}",
        "bold",
        hang=2,
    )
    return page.text()


def _write(page: Page, label: str, findings: Iterable[Finding]) -> None:
    for finding in findings:
        page.entry(label, f"{one_line(finding.part, 80)}, {where(finding)}")
        page.entry(
            page.severity(finding.severity),
            f"{one_line(finding.message, 2000)} ({one_line(finding.rule)})",
            STYLES[finding.severity],
        )
        page.line()
