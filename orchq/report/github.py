"""The report as workflow commands: GitHub shows them as annotations at the lines of a change."""

import os
from collections.abc import Iterator, Mapping, Sequence
from unicodedata import category

from orchq.project import Outcome
from orchq.report.wording import account, counted, extensions_in_force, one_line, seen_from_here
from orchq.rules.finding import FileReport
from orchq.severity import SEVERITIES

_COMMANDS = {"violation": "error", "warning": "warning", "info": "notice"}
# A control character in the name of a file could act on the terminal that shows the log.
_CONTROLS = {chr(code): "" for code in (*range(0x20), *range(0x7F, 0xA0))}
_DATA = _CONTROLS | {"%": "%25", "\r": "%0D", "\n": "%0A"}
_PROPERTY = _DATA | {":": "%3A", ",": "%2C"}


def github_report(outcome: Outcome) -> str:
    """Return one command a line, the gravest first: GitHub shows only so many of each run.

    What could not be read is an error like a violation. Accepted findings are counted in a
    notice for each file.
    """
    lines = [
        _command("error", each.file, each.line, "could not be read", [each.reason])
        for unread in outcome.unread
        for each in unread.faults
    ]
    for severity in reversed(SEVERITIES):
        lines += [
            _command(_COMMANDS[severity], report.file, finding.line, finding.rule, account(finding))
            for report in outcome.reports
            for finding in report.findings
            if finding.severity == severity
        ]
    lines += [line for report in outcome.reports for line in _accepted(report)]
    lines += [
        _command("notice", None, None, "extension", [text])
        for text in extensions_in_force(outcome.extensions)
    ]
    return "".join(f"{line}\n" for line in lines)


def _accepted(report: FileReport) -> Iterator[str]:
    if report.accepted:
        text = f"{counted(len(report.accepted), 'finding')} accepted"
        yield _command("notice", report.file, None, "accepted", [text])


def _command(name: str, file: str | None, line: int | None, title: str, text: Sequence[str]) -> str:
    """Write one command; whatever stands in its values can neither end it nor begin another."""
    properties = {}
    if file is not None:
        path = os.fsencode(seen_from_here(file).as_posix()).decode("utf-8", "replace")
        properties["file"] = "".join(each for each in path if category(each) != "Cf")
    if line is not None:
        properties["line"] = str(line)
    properties["title"] = one_line(title)
    pairs = ",".join(f"{key}={_escaped(value, _PROPERTY)}" for key, value in properties.items())
    return f"::{name} {pairs}::" + _escaped("\n".join(one_line(row, 4000) for row in text), _DATA)


def _escaped(value: str, codes: Mapping[str, str]) -> str:
    return "".join(codes.get(each, each) for each in value)
