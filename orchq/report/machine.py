"""The report as JSON, for programs."""

import json
from typing import Any

from orchq.evidence import Evidence
from orchq.project import Outcome, Unread
from orchq.report.wording import basis_name
from orchq.rules.finding import FileReport, Finding
from orchq.version import program_version


def json_report(outcome: Outcome) -> str:
    """Return one JSON object with every file's parts, findings and times, or why it is unread.

    Times are seconds. Only ASCII is written, so that nothing from a score can act on a
    terminal.
    """
    document = {
        "orchq": program_version(),
        "extensions": [
            {"name": each.name, "changes": list(each.changes)} for each in outcome.extensions
        ],
        "files": list(map(file_object, outcome.files)),
    }
    return json.dumps(document, indent=2) + "\n"


def evidence_object(evidence: Evidence) -> dict[str, str]:
    """Return the limit with its source, and a link to it."""
    link = {"link": evidence.link} if evidence.link else {}
    return {
        "limit": evidence.limit,
        "source": evidence.source,
        "locator": evidence.locator,
        "basis": basis_name(evidence.basis),
    } | link


def file_object(report: FileReport | Unread) -> dict[str, Any]:
    """Return one file with its parts, findings and times, or why it is unread."""
    if isinstance(report, Unread):
        faults = [
            {"error": fault.reason} | ({} if fault.line is None else {"line": fault.line})
            for fault in report.faults
        ]
        others = {"faults": faults} if report.others else {}
        return {"file": report.file} | faults[0] | others
    seconds = report.seconds
    return {
        "file": report.file,
        "title": report.title,
        "composer": report.composer,
        "notes": report.notes,
        "parts": [
            {
                "name": part.name,
                "id": part.id,
                "index": part.index,
                "instrument": part.instrument,
                "checked": part.checked,
                "level": part.level or None,
            }
            for part in report.parts
        ],
        "findings": [
            {"number": number} | finding_object(finding)
            for number, finding in enumerate(report.findings, 1)
        ],
        "accepted": [
            finding_object(each.finding) | {"reason": each.reason, "where": each.where}
            for each in report.accepted
        ],
        "remarks": list(report.remarks),
        "settings": report.settings or None,
        "seconds": {
            "read": round(seconds.read, 3),
            "derive": round(seconds.derive, 3),
            "rules": round(seconds.rules, 3),
        },
    }


def finding_object(finding: Finding) -> dict[str, Any]:
    """Return a finding with its evidence and what is proposed instead."""
    changed = {"changed_from": finding.changed_from} if finding.changed_from else {}
    return {
        "rule": finding.rule,
        "severity": finding.severity,
        "part": finding.part,
        "part_id": finding.part_id,
        "part_index": finding.part_index,
        "measure": finding.measure,
        "measure_index": finding.measure_index,
        "beat": finding.beat,
        "notes": list(finding.notes),
        "event": finding.event,
        "places": [
            {
                "measure": place.measure,
                "measure_index": place.measure_index,
                "beat": place.beat,
                "notes": list(place.notes),
                "event": place.event,
                "results": [{"focus": each.focus, "shape": each.shape} for each in place.results],
            }
            for place in finding.all_places
        ],
        "message": finding.message,
        "evidence": [evidence_object(evidence) for evidence in finding.evidence],
        "instead": [{"do": each.do, "verified": each.verified} for each in finding.instead],
    } | changed
