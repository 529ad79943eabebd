"""The report as JUnit XML, which CI servers show as a list of tests."""

import re
from collections.abc import Iterator
from pathlib import PurePath

from lxml import etree

from orchq.project import Outcome, Unread
from orchq.report.wording import (
    account,
    extensions_in_force,
    one_line,
    part_name,
    pitches,
    place,
    seen_from_here,
)
from orchq.rules.finding import Accepted, FileReport, Finding

_NOT_XML = re.compile("[\ufffe\uffff]")


def junit_report(outcome: Outcome) -> str:
    """Return a suite for each file, with a case for each result that a reader looks for.

    A finding that makes the check fail is a failed case of its own, so that servers list, count
    and follow it by rule and place; an accepted one is a skipped case with the reason; a checked
    part in which nothing fails is one passed case. A case for every rule in every part would
    bury those few among hundreds. A part of an unknown instrument is a skipped case, and milder
    findings are the output of the suite. A file that could not be read is a case with an error.
    """
    suites = [_suite(_name(each.file), [_unread(each)]) for each in outcome.unread]
    suites += [_file(report, outcome) for report in outcome.reports]
    root = _element("testsuites", *suites, name="orchq", **_counts(suites))
    text = etree.tostring(root, pretty_print=True, xml_declaration=True, encoding="UTF-8")
    return text.decode()


def _file(report: FileReport, outcome: Outcome) -> etree._Element:
    failing = [each for each in report.findings if each.severity in outcome.failing]
    milder = [each for each in report.findings if each.severity not in outcome.failing]
    cases = [
        *_parts(report, {finding.part_index for finding in failing}),
        *(_failed(report.file, finding) for finding in failing),
        *(_accepted(report.file, accepted) for accepted in report.accepted),
    ]
    lines = [line for each in milder for line in (f"{each.severity}: {each.rule}", *account(each))]
    lines += extensions_in_force(outcome.extensions)
    lines += [f"Remark: {remark}" for remark in dict.fromkeys(report.remarks)]
    return _suite(_name(report.file), cases, lines, f"{report.seconds.total:.3f}")


def _suite(
    name: str, cases: list[etree._Element], lines: list[str] | None = None, time: str = "0"
) -> etree._Element:
    output = [_element("system-out", text=_lines(lines))] if lines else []
    skipped = sum(case.find("skipped") is not None for case in cases)
    counts = _counts(cases) | {"skipped": str(skipped)}
    return _element("testsuite", *cases, *output, name=name, **counts, time=time)


def _element(
    tag: str, *content: etree._Element, text: str | None = None, **attributes: str
) -> etree._Element:
    element = etree.Element(tag, attributes)
    element.text = text
    element.extend(content)
    return element


def _counts(elements: list[etree._Element]) -> dict[str, str]:
    kinds = {"tests": "testcase", "failures": "failure", "errors": "error"}
    return {
        name: str(sum(1 for element in elements for _ in element.iter(tag)))
        for name, tag in kinds.items()
    }


def _parts(report: FileReport, failing: set[int]) -> Iterator[etree._Element]:
    for part in report.parts:
        name = part_name(part.name, part.index)
        if not part.checked:
            reason = _element("skipped", message="no string instrument known: not checked")
            yield _case(report.file, name, "nothing fails", reason)
        elif part.index not in failing:
            yield _case(report.file, name, "nothing fails")


def _failed(file: str, finding: Finding) -> etree._Element:
    lines = account(finding)
    failure = _element(
        "failure", text=_lines(lines), type=finding.severity, message=_safe(lines[0])
    )
    return _case(file, *_known_by(finding), failure)


def _accepted(file: str, accepted: Accepted) -> etree._Element:
    finding = accepted.finding
    reason = _safe(f"accepted ({accepted.where}): {accepted.reason}")
    skipped = _element("skipped", text=_lines(account(finding)), message=reason)
    return _case(file, *_known_by(finding), skipped)


def _unread(unread: Unread) -> etree._Element:
    told = [
        (f"line {fault.line}: " if fault.line is not None else "") + fault.reason
        for fault in unread.faults
    ]
    text = _lines(told) if unread.others else None
    error = _element("error", text=text, type="unreadable", message=_safe(told[0]))
    return _case(unread.file, "", "can be read", error)


def _known_by(finding: Finding) -> tuple[str, str]:
    """The part and the name of a finding's case."""
    where = ": ".join(filter(None, (place(finding), pitches(finding))))
    return part_name(finding.part, finding.part_index), f"{finding.rule}, {where}"


def _case(file: str, part: str, name: str, *content: etree._Element) -> etree._Element:
    """A case; servers take what stands before the last dot of its class for a folder."""
    names = [_safe(each).replace(".", " ") for each in (PurePath(file).stem, part) if each]
    return _element("testcase", *content, classname=".".join(names), name=_safe(name))


def _name(file: str) -> str:
    return _safe(seen_from_here(file).as_posix())


def _lines(lines: tuple[str, ...] | list[str]) -> str:
    return "\n".join(map(_safe, lines))


def _safe(text: str) -> str:
    """Text on one line, without what XML cannot hold."""
    return _NOT_XML.sub("", one_line(text, 4000))
