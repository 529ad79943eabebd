"""What a process does for the server: from plain values to messages of plain values."""

from base64 import b64encode
from collections.abc import Callable, Iterator, Mapping, Sequence
from pathlib import Path
from typing import TYPE_CHECKING, Any

from orchq.app.kept_graphs import kept_graph
from orchq.baseline import Known, known_of, unpaired
from orchq.knowledge.data_files import shipped_extensions
from orchq.knowledge.shipped_names import shipped_label
from orchq.lazily import lazily
from orchq.project import Project, Unread
from orchq.questions import load_graph
from orchq.report.engraved import html_report
from orchq.report.wording import counted, one_line, part_name, place
from orchq.rules.finding import FileReport, Finding
from orchq.rules.gathering import spread
from orchq.settings import Settings, read_settings
from orchq.terms import local_name

if TYPE_CHECKING:
    from orchq.app import question_pages
    from orchq.report import reference as references
    from orchq.report import sheet as sheets
else:
    (question_pages,) = lazily("orchq.app", "question_pages")
    references, sheets = lazily("orchq.report", "reference", "sheet")

Job = Mapping[str, Any]
Message = Mapping[str, Any]


def offered() -> Message:
    """The choices that the graph offers, each with its name and what it is called."""
    graph = load_graph()
    return {
        "levels": sorted(map(local_name, graph.levels)),
        "sources": sorted(
            ((each.slug, one_line(each.label, 90)) for each in graph.sources.values()),
            key=lambda pair: pair[1].casefold(),
        ),
        "extensions": [(name, shipped_label(name)) for name in sorted(shipped_extensions())],
        "instruments": [
            (each.slug, one_line(each.label))
            for each in sorted(graph.instruments.values(), key=lambda each: each.label)
        ],
    }


def check(job: Job) -> Iterator[Message]:
    """Check a score; its findings come at once, and again with the score engraved.

    ``file`` is its path, ``settings`` the settings file or ``None``; ``level``, ``trust``,
    ``extensions`` and ``players`` are as for ``Project``; with ``fingering`` the likeliest one is
    engraved too. ``before`` is what an earlier answer called ``standing``; what appeared since
    and what went is compared with it.
    """
    project = _project(job)
    outcome = project.check(Path(job["file"]))
    (found,) = outcome.files
    if isinstance(found, Unread):
        yield {"error": "; ".join(one_line(each.reason, 1000) for each in found.faults[:5])}
        return
    standing = spread(found)
    yield {
        "page": html_report(outcome, engraved=False),
        "found": [_found(finding) for finding in found.findings],
        "accepted": [_found(each.finding) for each in found.accepted],
        "standing": [_standing(finding) for finding in standing.findings],
        "changes": _changes(job["before"], standing),
        "parts": [
            {"id": part.id, "name": part_name(part.name, part.index)}
            for part in found.parts
            if part.checked
        ],
        "unchecked": bool(outcome.unchecked),
    }
    yield {"page": html_report(outcome, fingering=job["fingering"])}


def annotate(job: Job) -> Iterator[Message]:
    """A copy of a score with each finding at its note; choices as for ``check``."""
    outcome = _project(job).check(Path(job["file"]))
    yield {"score": _sent(outcome.annotated())}


def apply(job: Job) -> Iterator[Message]:
    """A copy of a score with the ``chosen`` proposals carried out, and what became of them.

    A proposal is named as by ``Project.apply``; other choices are as for ``check``.
    """
    applied = _project(job).apply(Path(job["file"]), job["chosen"])
    done = "; ".join(
        f"{one_line(each.part, 80)}, {each.where}: {one_line(each.do, 300)}"
        for each in applied.corrections
    )
    left = counted(len(applied.left), "place")
    rest = f"{left} left; {counted(len(applied.new), 'finding')} new"
    proof = rest if applied.exit_code else "checked again: nothing left, nothing new"
    yield {
        "score": _sent(applied.text),
        "account": f"Carried out: {done or 'nothing'}. {proof[0].upper()}{proof[1:]}.",
    }


def sheet(job: Job) -> Iterator[Message]:
    """The page about an instrument, as ``orchq sheet`` writes it."""
    graph = kept_graph(None, job["extensions"])
    level, trust = job["level"] or None, job["trust"] or None
    yield {"page": sheets.instrument_sheet(graph, job["instrument"], level=level, trust=trust)}


def reference(job: Job) -> Iterator[Message]:
    """The pages about the graph by their file names, as ``orchq reference`` writes them."""
    yield {"pages": dict(references.reference_pages(job["extensions"]))}


JOBS: Mapping[str, Callable[[Job], Iterator[Message]]] = {
    "check": check,
    "annotate": annotate,
    "apply": apply,
    "questions": question_pages.questions,
    "question": question_pages.question,
    "drawing": question_pages.drawing,
    "sheet": sheet,
    "reference": reference,
}
"""Every job by its name."""


def _sent(score: bytes) -> str:
    """A score as a message holds it, in whatever encoding it declares."""
    return b64encode(score).decode("ascii")


def _project(job: Job) -> Project:
    settings = read_settings(Path(job["settings"])) if job["settings"] else None
    return Project(
        settings=settings,
        level=job["level"] or None,
        trust=job["trust"] or None,
        players=_players(settings, job["players"]),
        knowledge=kept_graph(settings, job["extensions"]),
    )


def _players(settings: Settings | None, given: Mapping[str, int]) -> Mapping[str, int] | None:
    """The players of parts: those given here go before those of the settings."""
    return {**settings.players, **given} if settings and given else dict(given) or None


def _found(finding: Finding) -> Message:
    """What accepting a finding, or withdrawing that, needs to know of it."""
    return {
        "rule": finding.rule,
        "part": finding.part,
        "part_id": finding.part_id,
        "proposals": len(finding.instead),
        "places": [(each.measure, each.beat) for each in finding.all_places],
    }


def _standing(finding: Finding) -> Message:
    """A finding at one place, to be compared with those of another check and to be shown."""
    return {
        "known": known_of(finding),
        "severity": finding.severity,
        "where": f"{part_name(finding.part, finding.part_index)}, {place(finding)}",
        "message": one_line(finding.message, 2000),
    }


def _changes(before: Sequence[Message] | None, now: FileReport) -> Message | None:
    """What appeared and what went since a check before; ``None`` when this is the first."""
    if before is None:
        return None
    after = [_standing(finding) for finding in now.findings]
    gone, new = unpaired(
        [_known(each["known"]) for each in before], [each["known"] for each in after]
    )
    return {"appeared": [after[each] for each in new], "went": [before[each] for each in gone]}


def _known(fields: Sequence[Any]) -> Known:
    part, measure, rule, notes, severity = fields
    return Known(part, measure, rule, tuple(notes), severity)
