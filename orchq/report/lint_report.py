"""What linting found, for people and programs."""

import json
from typing import Any

from msgspec.structs import asdict

from orchq.lint import Fault, Involved, LintReport
from orchq.project import Unread
from orchq.report.sarif import LEVELS, document, message, not_read, physical
from orchq.report.wording import one_line
from orchq.version import program_version


def lint_text(report: LintReport) -> str:
    """Return one line for each fault: file, line, severity, words, rule."""
    lines = []
    for fault in report.faults:
        words = f"{one_line(fault.message, 500)} [{fault.rule}]"
        lines.append(f"{_place(fault)}: {fault.severity}: {words}")
        lines += [f"    {one_line(_because(each))}" for each in fault.involved]
    count = len(report.faults)
    lines.append(f"{count} fault{'' if count == 1 else 's'}" if count else "no faults")
    return "\n".join(lines) + "\n"


def lint_json(report: LintReport) -> str:
    """Return one JSON object with every file's findings, or why it is unread.

    Findings of the core stand apart.
    """
    files = dict.fromkeys((*report.files, *(fault.file for fault in report.faults)))
    whole = {
        "orchq": program_version(),
        "files": [
            {
                "file": file,
                "findings": [_fault(fault) for fault in report.faults if fault.file == file],
            }
            for file in files
        ]
        + [{"file": file, "error": sentence} for file, sentence in report.unread],
    }
    return json.dumps(whole, indent=2) + "\n"


def lint_sarif(report: LintReport) -> str:
    """Return the faults as SARIF 2.1.0; a fault of the core itself has no place in a file."""
    rules = dict.fromkeys(fault.rule for fault in report.faults)
    return document(
        [{"id": rule} for rule in rules],
        {
            "executionSuccessful": not report.unread,
            "toolExecutionNotifications": [
                not_read(Unread.parse(file, sentence)) for file, sentence in report.unread
            ],
        },
        report.files,
        [_result(fault, fault.file in report.files) for fault in report.faults],
    )


def _result(fault: Fault, in_file: bool) -> dict[str, Any]:
    place = [{"physicalLocation": physical(fault.file, fault.line)}] if in_file else []
    return {
        "ruleId": fault.rule,
        "level": LEVELS[fault.severity],
        "message": message([fault.message, *map(_because, fault.involved)]),
        "locations": place,
    }


def _place(item: Fault | Involved) -> str:
    return f"{one_line(item.file)}{f':{item.line}' if item.line else ''}"


def _because(each: Involved) -> str:
    return f"{_place(each)}: {each.statement}"


def _fault(fault: Fault) -> dict[str, Any]:
    return {
        "rule": fault.rule,
        "severity": fault.severity,
        "line": fault.line,
        "subject": fault.subject,
        "message": fault.message,
        "involved": [asdict(each) for each in fault.involved],
    }
