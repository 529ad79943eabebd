"""What linting found, for people and programs."""

import json
from typing import Any

from orchq.lint import Fault, LintReport
from orchq.report.machine import program_version
from orchq.report.wording import one_line


def lint_text(report: LintReport) -> str:
    """Return one line for each fault: file, line, severity, words, rule."""
    lines = [
        f"{one_line(fault.file)}{f':{fault.line}' if fault.line else ''}: {fault.severity}: "
        f"{one_line(fault.message, 500)} [{fault.rule}]"
        for fault in report.faults
    ]
    count = len(report.faults)
    lines.append(f"{count} fault{'' if count == 1 else 's'}" if count else "no faults")
    return "\n".join(lines) + "\n"


def lint_json(report: LintReport) -> str:
    """Return one JSON object with every file's findings."""
    document = {
        "orchq": program_version(),
        "files": [
            {
                "file": file,
                "findings": [_fault(fault) for fault in report.faults if fault.file == file],
            }
            for file in report.files
        ],
    }
    return json.dumps(document, indent=2) + "\n"


def _fault(fault: Fault) -> dict[str, Any]:
    return {
        "rule": fault.rule,
        "severity": fault.severity,
        "line": fault.line,
        "subject": fault.subject,
        "message": fault.message,
    }
