"""Findings gathered: one recurring cause is one finding, with all its places."""

from collections.abc import Iterable, Iterator

from msgspec.structs import replace

from orchq.rules.finding import Accepted, FileReport, Finding, Where


def gathered(report: FileReport) -> FileReport:
    """Return the report with one finding for each rule, severity, part and cause.

    A finding is listed at its first place and has that place's words, evidence and proposals.
    Findings come in the order of the parts, those of a part in the order of their first places.
    """
    accepted: dict[tuple[str, Where], list[Finding]] = {}
    for each in report.accepted:
        accepted.setdefault((each.reason, each.where), []).append(each.finding)
    return replace(
        report,
        findings=tuple(_gathered(report.findings)),
        accepted=tuple(
            Accepted(finding, reason, where)
            for (reason, where), same in accepted.items()
            for finding in _gathered(same)
        ),
    )


def spread(report: FileReport) -> FileReport:
    """Return the report with one finding for each place, as accepting them one by one needs."""
    return replace(
        report,
        findings=tuple(each for finding in report.findings for each in _spread(finding)),
        accepted=tuple(
            replace(accepted, finding=each)
            for accepted in report.accepted
            for each in _spread(accepted.finding)
        ),
    )


def _gathered(findings: Iterable[Finding]) -> Iterator[Finding]:
    alike: dict[object, list[Finding]] = {}
    # What was spread and then accepted in part no longer stands in the order of the score.
    for each in sorted(findings, key=lambda f: (f.part_index, f.measure_index, f.beat)):
        key = each.part_index, each.rule, each.severity, each.changed_from, each.cause
        alike.setdefault(key, []).append(each)
    for same in alike.values():
        places = tuple(place for each in same for place in each.all_places)
        yield replace(same[0], places=places)


def _spread(finding: Finding) -> Iterator[Finding]:
    for place in finding.all_places:
        yield replace(
            finding,
            measure=place.measure,
            measure_index=place.measure_index,
            beat=place.beat,
            notes=place.notes,
            event=place.event,
            results=place.results,
            places=(),
        )
