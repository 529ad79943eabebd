"""The report in SARIF 2.1.0, the OASIS format for the results of static analysis."""

import hashlib
import json
import os
from collections import Counter
from collections.abc import Iterator, Sequence
from typing import Any
from urllib.parse import quote_from_bytes

from orchq.project import Outcome, Unread
from orchq.report.machine import evidence_object, finding_object
from orchq.report.wording import (
    account,
    attribution,
    extensions_in_force,
    one_line,
    part_name,
    place,
    seen_from_here,
)
from orchq.rules.catalogue import RuleInfo
from orchq.rules.finding import Accepted, FileReport, Finding
from orchq.version import program_version

SCHEMA = (
    "https://docs.oasis-open.org/sarif/sarif/v2.1.0/errata01/os/schemas/sarif-schema-2.1.0.json"
)
"""Where OASIS publishes the schema that the report conforms to."""

LEVELS = {"violation": "error", "warning": "warning", "info": "note"}
"""The SARIF levels of our severities."""
_IN_RESULT = frozenset({"rule", "message"})


def sarif_report(outcome: Outcome) -> str:
    """Return one run with its rules, results, and what could not be read.

    Accepted findings are results with a suppression. Where the line in the file is not known, as
    in a compressed score, part, measure and beat stand as a logical location alone. Only ASCII
    is written.
    """
    return document(
        [_rule(rule) for rule in outcome.rules],
        _invocation(outcome),
        [report.file for report in outcome.reports],
        [result for report in outcome.reports for result in _results(report, outcome)],
    )


def document(
    rules: Sequence[dict[str, Any]],
    invocation: dict[str, Any],
    files: Sequence[str],
    results: Sequence[dict[str, Any]],
) -> str:
    """Return a document of one run over these files."""
    run = {
        "tool": {
            "driver": {"name": "orchq", "version": program_version(), "rules": list(rules)},
        },
        "invocations": [invocation],
        "artifacts": [{"location": _artifact(file), "roles": ["analysisTarget"]} for file in files],
        "results": list(results),
        "columnKind": "unicodeCodePoints",
    }
    whole = {"$schema": SCHEMA, "version": "2.1.0", "runs": [run]}
    return json.dumps(whole, indent=2) + "\n"


def fingerprint(finding: Finding) -> str:
    """What a finding is known by from run to run: its rule and place, not its words."""
    known = [
        finding.rule,
        finding.part or finding.part_id,
        finding.measure,
        finding.beat,
        finding.notes,
    ]
    return hashlib.sha256(json.dumps(known).encode()).hexdigest()[:32]


def _rule(rule: RuleInfo) -> dict[str, Any]:
    lines = [
        rule.why,
        f"Instead: {rule.instead}",
        f"Wrong: {rule.bad}",
        f"Right: {rule.good}",
        *(f"Who says so: {attribution(evidence, rule.slug)}" for evidence in rule.evidence),
    ]
    return {
        "id": rule.slug,
        "shortDescription": message([rule.label]),
        "fullDescription": message([rule.why]),
        "help": message(lines),
        "defaultConfiguration": {"level": LEVELS[rule.severities[0]]},
        "properties": {
            "severities": list(rule.severities),
            "evidence": [evidence_object(evidence) for evidence in rule.evidence],
            **({"from": rule.origin} if rule.origin else {}),
        },
    }


def _invocation(outcome: Outcome) -> dict[str, Any]:
    remarks = [
        {
            "level": "note",
            "message": message([remark]),
            "locations": [{"physicalLocation": physical(report.file, None)}],
        }
        for report in outcome.reports
        for remark in dict.fromkeys(report.remarks)
    ]
    extensions = [
        {"level": "note", "message": message([text])}
        for text in extensions_in_force(outcome.extensions)
    ]
    faults = [not_read(fault) for unread in outcome.unread for fault in unread.faults]
    return {
        "executionSuccessful": not outcome.unread,
        "toolExecutionNotifications": [*faults, *extensions, *remarks],
    }


def not_read(unread: Unread) -> dict[str, Any]:
    """A notification of an input that could not be read."""
    return {
        "level": "error",
        "message": message([f"{unread.file} could not be read: {unread.reason}"]),
        "locations": [{"physicalLocation": physical(unread.file, unread.line)}],
    }


def _results(report: FileReport, outcome: Outcome) -> Iterator[dict[str, Any]]:
    numbers = {rule.slug: number for number, rule in enumerate(outcome.rules)}
    alike: Counter[str] = Counter()
    found: list[tuple[Finding, Accepted | None]] = [
        *((finding, None) for finding in report.findings),
        *((accepted.finding, accepted) for accepted in report.accepted),
    ]
    for finding, accepted in found:
        mark = fingerprint(finding)
        alike[mark] += 1
        known = finding_object(finding)
        yield {
            "ruleId": finding.rule,
            **({"ruleIndex": numbers[finding.rule]} if finding.rule in numbers else {}),
            "level": LEVELS[finding.severity],
            "message": message(account(finding)),
            "locations": [_location(report.file, finding)],
            "partialFingerprints": {"ruleAndPlace/v1": f"{mark}:{alike[mark]}"},
            **(_suppressed(accepted) if accepted else {}),
            "properties": {key: known[key] for key in known if key not in _IN_RESULT},
        }


def _suppressed(accepted: Accepted) -> dict[str, Any]:
    suppression = {
        "kind": "inSource" if accepted.where == "excerpt" else "external",
        "status": "accepted",
        "justification": one_line(accepted.reason, 2000),
    }
    return {"suppressions": [suppression]}


def _location(file: str, finding: Finding) -> dict[str, Any]:
    part, where = part_name(finding.part, finding.part_index), place(finding)
    return {
        "physicalLocation": physical(file, finding.line),
        "logicalLocations": [{"name": where, "fullyQualifiedName": f"{part}, {where}"}],
    }


def physical(file: str, line: int | None) -> dict[str, Any]:
    """A place in a file, by its line where that is known."""
    location: dict[str, Any] = {"artifactLocation": _artifact(file)}
    if line is not None:
        location["region"] = {"startLine": line}
    return location


def _artifact(file: str) -> dict[str, str]:
    path = seen_from_here(file)
    if path.is_absolute():
        return {"uri": path.as_uri()}
    return {"uri": quote_from_bytes(os.fsencode(path.as_posix())), "uriBaseId": "%SRCROOT%"}


def message(lines: Sequence[str]) -> dict[str, str]:
    """A plain text of SARIF: braces would be placeholders, and [words](address) a link."""
    text = "\n".join(one_line(line, 4000) for line in lines)
    return {"text": text.replace("{", "{{").replace("}", "}}").replace("](", "] (")}
