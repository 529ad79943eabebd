"""A baseline: known findings that a check accepts, so that only new ones count.

A finding matches a known one when file, part, printed measure number, rule and notes are equal and
its severity is no higher; each known finding matches at most one. Its message, its evidence and
the IRI of its event may change, and so may its beat, but not its measure.
"""

import json
import os
import re
from collections import Counter, defaultdict
from collections.abc import Iterable, Mapping, Sequence
from pathlib import Path
from typing import Any, NamedTuple

from msgspec import Struct
from msgspec.structs import replace

from orchq.errors import ReadError
from orchq.inputs import read_whole
from orchq.rules.finding import Accepted, FileReport, Finding
from orchq.rules.gathering import gathered, spread
from orchq.severity import SEVERITIES, Severity, rank

LARGEST = 10_000_000
"""Largest baseline that is read, in bytes."""

MOST_ALIKE = 1000
"""Findings of one measure that share part, rule and notes."""

_VERSION = 1


class Known(NamedTuple):
    """The fields of a known finding, in the order in which they are written."""

    part: str
    measure: str
    rule: str
    notes: tuple[str, ...]
    severity: Severity

    @property
    def gravity(self) -> int:
        """The rank of the severity, from the mildest."""
        return rank(self.severity)


def known_of(finding: Finding) -> Known:
    """The part of a finding that a baseline stores."""
    notes = tuple(sorted(finding.notes))
    return Known(finding.part, finding.measure, finding.rule, notes, finding.severity)


def unpaired(before: Sequence[Known], after: Sequence[Known]) -> tuple[list[int], list[int]]:
    """Return the indices in ``before`` of findings that are gone and in ``after`` of new ones.

    >>> note = Known("Viola", "3", "note-below-lowest-string", ("B2",), "warning")
    >>> unpaired([note, note], [note, note._replace(severity="violation")])
    ([1], [1])
    """
    waiting: dict[tuple[object, ...], list[int]] = defaultdict(list)
    for place, known in enumerate(before):
        waiting[known[:-1]].append(place)
    new = []
    for place in sorted(range(len(after)), key=lambda each: -after[each].gravity):
        known = after[place]
        places = waiting[known[:-1]]
        pair = next((each for each in places if before[each].gravity >= known.gravity), None)
        if pair is None:
            new.append(place)
        else:
            places.remove(pair)
    return sorted(place for places in waiting.values() for place in places), sorted(new)


class Baseline(Struct, frozen=True):
    """Known findings by file; file names are relative to the folder of the baseline."""

    path: Path
    files: Mapping[str, tuple[Known, ...]]

    def accepting(self, report: FileReport) -> FileReport:
        """Return the report with the known findings accepted and a remark on how many are gone."""
        known = self.files.get(_name(report.file, self.path), ())
        report = spread(report)
        gone, new = unpaired(known, [known_of(finding) for finding in report.findings])
        standing = tuple(report.findings[place] for place in new)
        reason = f"known in {self.path.name}"
        fresh = set(new)
        accepted = tuple(
            Accepted(finding, reason, "baseline")
            for place, finding in enumerate(report.findings)
            if place not in fresh
        )
        remarks = report.remarks
        if gone:
            are = "is" if len(gone) == 1 else "are"
            remarks = (*remarks, f"{len(gone):,} of the baseline {self.path.name} {are} gone")
        settled = replace(
            report,
            findings=standing,
            accepted=(*report.accepted, *accepted),
            remarks=remarks,
        )
        return gathered(settled)

    def text(self) -> str:
        """The baseline as JSON, one finding per line, in a stable order."""
        files = ",\n".join(
            f"    {json.dumps(name)}: [\n{_lines(self.files[name])}\n    ]"
            for name in sorted(self.files)
            if self.files[name]
        )
        body = f"{{\n{files}\n  }}" if files else "{}"
        return f'{{\n  "orchq-baseline": {_VERSION},\n  "files": {body}\n}}\n'


def baseline_of(reports: Iterable[FileReport], path: Path) -> Baseline:
    """Return a baseline of the findings in reports, to be written to ``path``."""
    return Baseline(
        path,
        {
            _name(report.file, path): tuple(map(known_of, spread(report).findings))
            for report in reports
        },
    )


def read_baseline(path: Path) -> Baseline:
    """Read a baseline. Raises ``ReadError`` that names the file and the fault."""
    try:
        document = json.loads(read_whole(path, LARGEST, "baselines"))
    except (ValueError, RecursionError) as error:
        raise ReadError(f"{path}: is not a baseline: not valid JSON: {error}") from error
    if not isinstance(document, dict) or document.get("orchq-baseline") != _VERSION:
        raise ReadError(f"{path}: is not a baseline of this version of orchq")
    try:
        files = {
            name: tuple(known for entry in entries for known in _entry(entry))
            for name, entries in document["files"].items()
        }
    except (KeyError, TypeError, AttributeError, ValueError) as error:
        raise ReadError(f"{path}: the baseline is damaged; write it again") from error
    return Baseline(path, files)


def _entry(entry: Mapping[str, Any]) -> list[Known]:
    notes, count = entry["notes"], entry.get("count", 1)
    severity = SEVERITIES[SEVERITIES.index(entry["severity"])]
    texts = [entry["part"], entry["measure"], entry["rule"], *notes]
    if not all(isinstance(text, str) for text in texts) or not isinstance(notes, list):
        raise TypeError("texts are expected")
    if isinstance(count, bool) or not isinstance(count, int) or not 1 <= count <= MOST_ALIKE:
        raise ValueError("a count from 1 is expected")
    known = Known(entry["part"], entry["measure"], entry["rule"], tuple(notes), severity)
    return [known] * count


def _lines(known: Iterable[Known]) -> str:
    counts = Counter(known)
    return ",\n".join(
        "      " + json.dumps(_object(each, counts[each])) for each in sorted(counts, key=_order)
    )


def _object(known: Known, count: int) -> dict[str, Any]:
    return known._asdict() | ({"count": count} if count > 1 else {})


def _order(known: Known) -> tuple[object, ...]:
    """By part, then measures as they are counted."""
    number = int(known.measure) if re.fullmatch("[0-9]{1,9}", known.measure) else 0
    return known.part, number, known


def _name(file: str, baseline: Path) -> str:
    """A file's name relative to the folder of the baseline, whatever the working directory."""
    folder = baseline.absolute().parent
    path = Path(file).absolute()
    try:
        return Path(os.path.relpath(path, folder)).as_posix()
    except ValueError:  # on another drive
        return path.as_posix()
