"""What the page shows of one file: systems with their findings, and what stands beside them."""

from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path, PurePath

from orchq.knowledge import Knowledge
from orchq.knowledge.store import TRIPLE_SUFFIXES
from orchq.report.engraved.drawing import Glyphs, draw
from orchq.report.engraved.engraving import MEASURE_ID, Engraving, engrave
from orchq.report.engraved.marks import Label
from orchq.report.wording import one_line, pitches, place, saying
from orchq.rules.finding import SEVERITIES, Accepted, FileReport, Finding, PartReport


@dataclass(frozen=True, slots=True)
class Entry:
    """A finding as it is shown; ``name`` is its identifier on the page."""

    name: str
    number: int
    finding: Finding
    part: str
    where: str
    pitches: str
    says: tuple[str, ...]

    @property
    def words(self) -> str:
        """The finding in one sentence for those who hear the page."""
        notes = f": {self.pitches}" if self.pitches else ""
        return f"{self.number}, {self.finding.severity}, {self.part}, {self.where}{notes}"


@dataclass(frozen=True, slots=True)
class System:
    """A system of the score with the findings in it; ``svg`` is safe to write into a page."""

    name: str
    first: str
    last: str
    svg: str
    entries: tuple[Entry, ...]


@dataclass(frozen=True, slots=True)
class Section:
    """What the page shows of one file; ``tabled`` are findings whose notes are not drawn."""

    name: str
    report: FileReport
    file: str
    systems: tuple[System, ...]
    tabled: tuple[Entry, ...]
    accepted: tuple[tuple[Accepted, Entry], ...]
    quiet: tuple[PartReport, ...]
    skipped: tuple[PartReport, ...]
    notice: str

    @property
    def entries(self) -> tuple[Entry, ...]:
        """All findings that stand, in the order of the page."""
        return (*(entry for system in self.systems for entry in system.entries), *self.tabled)


def section_of(
    report: FileReport, number: int, knowledge: Knowledge, glyphs: Glyphs, *, all_pages: bool
) -> Section:
    """Gather what is shown of a file, which is the ``number``-th of the page."""
    name = f"f{number}"
    ordered = sorted(report.findings, key=_reading_order)
    entries = [_entry(f"{name}-{place}", place, each) for place, each in enumerate(ordered, 1)]
    path = Path(report.file)
    checked = [part for part in report.parts if part.checked]
    triples = path.suffix.lower() in TRIPLE_SUFFIXES
    engraving, notice = None, ""
    if checked and not triples and (entries or all_pages):
        engraving = engrave(path, knowledge, {part.index for part in checked})
        notice = "" if engraving else "The score could not be engraved."
    systems: tuple[System, ...] = ()
    if engraving is not None:
        systems = _Systems(engraving, entries, name, glyphs).drawn(all_pages=all_pages)
    drawn = {entry.name for system in systems for entry in system.entries}
    found = {finding.part_index for finding in report.findings}
    return Section(
        name=name,
        report=report,
        file=one_line(PurePath(report.file).name),
        systems=systems,
        tabled=tuple(entry for entry in entries if entry.name not in drawn),
        accepted=tuple(
            (accepted, _entry(f"{name}-a{place}", place, accepted.finding))
            for place, accepted in enumerate(report.accepted, 1)
        ),
        quiet=tuple(part for part in checked if part.index not in found),
        skipped=tuple(part for part in report.parts if not part.checked),
        notice=notice,
    )


def _reading_order(finding: Finding) -> tuple[int, float, int, int, str]:
    gravity = -SEVERITIES.index(finding.severity)
    return finding.measure_index, finding.beat, finding.part_index, gravity, finding.rule


def _entry(name: str, number: int, finding: Finding) -> Entry:
    return Entry(
        name=name,
        number=number,
        finding=finding,
        part=one_line(finding.part, 80) or f"part {finding.part_index + 1}",
        where=place(finding),
        pitches=pitches(finding),
        says=tuple(dict.fromkeys(saying(each, finding.rule) for each in finding.evidence)),
    )


class _Systems:
    """Sorts the findings of a file into the systems that show their notes."""

    def __init__(
        self, engraving: Engraving, entries: Sequence[Entry], prefix: str, glyphs: Glyphs
    ) -> None:
        self._engraving = engraving
        self._prefix = prefix
        self._glyphs = glyphs
        self._labels: dict[int, dict[str, list[Entry]]] = {}
        self._entries: dict[int, list[Entry]] = {}
        for entry in entries:
            self._place(entry)

    def drawn(self, *, all_pages: bool) -> tuple[System, ...]:
        numbers = range(1, self._engraving.systems + 1) if all_pages else sorted(self._entries)
        return tuple(self._system(number) for number in numbers)

    def _place(self, entry: Entry) -> None:
        """Note the finding at every note it is about, and where the first of them stands."""
        finding = entry.finding
        for note in self._engraving.notes.get(finding.event, ()):
            if note.pitch.name in finding.notes and note.xml_id:
                system = self._engraving.system_of(note)
                if system is not None:
                    self._labels.setdefault(system, {}).setdefault(note.xml_id, []).append(entry)
                    entries = self._entries.setdefault(system, [])
                    if entry not in entries[-1:]:
                        entries.append(entry)

    def _system(self, number: int) -> System:
        labels = {
            note: tuple(
                Label(entry.name, entry.number, entry.finding.severity, entry.words)
                for entry in sorted(
                    entries, key=lambda each: -SEVERITIES.index(each.finding.severity)
                )
            )
            for note, entries in self._labels.get(number, {}).items()
        }
        drawing = draw(self._engraving.svg(number), labels, f"{self._prefix}-", self._glyphs)
        printed = {
            MEASURE_ID.format(index): measure
            for index, measure in enumerate(self._engraving.measures)
        }
        shown = [printed.get(measure, "") for measure in drawing.measures] or [""]
        return System(
            name=f"{self._prefix}-system-{number}",
            first=one_line(shown[0], 20),
            last=one_line(shown[-1], 20),
            svg=drawing.svg,
            entries=tuple(self._entries.get(number, ())),
        )
