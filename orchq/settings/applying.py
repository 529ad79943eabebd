"""Applies settings to the reports of a run: changes severities and accepts findings."""

from collections.abc import Callable, Collection, Iterator, Sequence

from msgspec.structs import replace

from orchq.errors import OrchqError, known
from orchq.rules.accepting import accept, accepts_nothing
from orchq.rules.finding import FileReport, Finding
from orchq.score import same_name
from orchq.settings.project_settings import AcceptedPlace, Settings


def with_settings(
    reports: Sequence[FileReport], settings: Settings, rules: Collection[str]
) -> list[FileReport]:
    """Return the reports under the settings; ``rules`` are the slugs of the rules that ran.

    Settings without effect are remarked in the first report that they apply to: an acceptance
    that accepts nothing in any of its files, and players of a part that no file has.
    """
    places = [place for place in settings.accepted if place.rule in rules]
    used: set[AcceptedPlace] = set()
    results: list[FileReport] = []
    for report in reports:
        accepting = _accepting([place for place in places if place.covers(report.file)])
        settled, by = accept(_with_severities(report, settings), accepting, "settings")
        used |= by
        results.append(settled)
    remarks = _without_effect(results, settings, set(places) - used)
    return [
        replace(report, settings=settings.path, remarks=(*report.remarks, *remarks[number]))
        for number, report in enumerate(results)
    ]


def _accepting(places: Sequence[AcceptedPlace]) -> Callable[[Finding], AcceptedPlace | None]:
    return lambda finding: next((place for place in places if place.accepts(finding)), None)


def _with_severities(report: FileReport, settings: Settings) -> FileReport:
    def changed(finding: Finding) -> Finding:
        severity = settings.severities.get(finding.rule, finding.severity)
        if severity == finding.severity:
            return finding
        return replace(finding, severity=severity, changed_from=finding.severity)

    return replace(
        report,
        findings=tuple(map(changed, report.findings)),
        accepted=tuple(replace(each, finding=changed(each.finding)) for each in report.accepted),
    )


def _without_effect(
    reports: Sequence[FileReport], settings: Settings, idle: Collection[AcceptedPlace]
) -> list[list[str]]:
    """The remarks in each report on settings that have no effect."""
    remarks: list[list[str]] = [[] for _ in reports]
    for place in dict.fromkeys(place for place in settings.accepted if place in idle):
        about = (n for n, report in enumerate(reports) if place.covers(report.file))
        if (first := next(about, None)) is not None:
            name = f"the acceptance of {place.rule} in {place.part}, m. {place.measure},"
            remarks[first].append(accepts_nothing(f"{settings.path}: {name}"))
    if reports:
        remarks[0].extend(_unknown_parts(reports, settings))
    return remarks


def _unknown_parts(reports: Sequence[FileReport], settings: Settings) -> Iterator[str]:
    """Yield remarks on players of parts that none of these files has."""
    parts = [part for report in reports for part in report.parts]
    for name in settings.players:
        if not any(name == part.id or same_name(name, part.name) for part in parts):
            try:
                known("part", name, {part.name for part in parts})
            except OrchqError as error:
                yield f"{settings.path}: players: {error}"
