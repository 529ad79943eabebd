"""What the page shows of one file: systems with their findings, and what stands beside them."""

from collections.abc import Mapping, Sequence
from pathlib import Path, PurePath

from msgspec import Struct
from msgspec.structs import replace

from orchq.knowledge import Knowledge
from orchq.knowledge.store import holds_triples
from orchq.project.before_after import BeforeAfter
from orchq.report.engraved.engraving import Engraving, FingeredFor, engrave
from orchq.report.engraved.labels import Label
from orchq.report.engraved.strips import strip
from orchq.report.engraved.system_drawing import Drawing, Glyphs, draw
from orchq.report.wording import (
    linked_attributions,
    one_line,
    other_places,
    part_name,
    pitches,
    place,
    players,
)
from orchq.rules.finding import Accepted, FileReport, Finding, PartReport
from orchq.severity import rank


class FindingEntry(Struct, frozen=True):
    """A finding as it is shown; ``name`` is its identifier on the page.

    ``strip`` shows its places over the piece, ``before`` and ``after`` the passage as it is and as
    the first proposal has it, ``board`` a stop on the fingerboard: drawings that are safe to write
    into a page, or nothing.
    """

    name: str
    number: int
    finding: Finding
    rule: str
    part: str
    where: str
    pitches: str
    says: tuple[tuple[str, str], ...]
    others: str
    strip: str = ""
    before: str = ""
    after: str = ""
    board: str = ""

    @property
    def words(self) -> str:
        """The finding in one sentence for screen readers."""
        notes = f": {self.pitches}" if self.pitches else ""
        return f"{self.number}, {self.finding.severity}, {self.part}, {self.where}{notes}"


class System(Struct, frozen=True):
    """A system of the score with the findings in it; ``svg`` is safe to write into a page."""

    name: str
    first: str
    last: str
    svg: str
    entries: tuple[FindingEntry, ...]


class Section(Struct, frozen=True):
    """What the page shows of one file; ``tabled`` are findings whose notes are not drawn.

    ``judged`` are the kinds of player that parts were judged for, each with the names of the parts.
    """

    name: str
    report: FileReport
    file: str
    title: str
    composer: str
    judged: tuple[tuple[str, str], ...]
    systems: tuple[System, ...]
    tabled: tuple[FindingEntry, ...]
    accepted: tuple[tuple[Accepted, FindingEntry], ...]
    quiet: tuple[PartReport, ...]
    skipped: tuple[PartReport, ...]
    notice: str

    @property
    def entries(self) -> tuple[FindingEntry, ...]:
        """All findings that stand, in the order of the page."""
        return (*(entry for system in self.systems for entry in system.entries), *self.tabled)


def section_of(
    report: FileReport,
    number: int,
    knowledge: Knowledge,
    glyphs: Glyphs,
    *,
    all_pages: bool,
    engraved: bool,
    passages: Mapping[int, BeforeAfter] | None = None,
    boards: Mapping[int, str] | None = None,
    fingered: FingeredFor | None = None,
) -> Section:
    """Gather what is shown of a file, which is the ``number``-th of the page.

    ``passages`` are first proposals in notes and ``boards`` stops on the fingerboard, by the places
    of their findings in the report.
    """
    name = f"f{number}"
    numbered = sorted(enumerate(report.findings, 1), key=lambda pair: _reading_order(pair[1]))
    ordered = [finding for _, finding in numbered]
    stops = boards or {}
    entries = [
        replace(_entry(f"{name}-{place}", place, each), board=stops.get(place - 1, ""))
        for place, each in numbered
    ]
    path = Path(report.file)
    checked = [part for part in report.parts if part.checked]
    triples = holds_triples(path)
    systems: tuple[System, ...] = ()
    notice = ""
    if engraved and checked and not triples and (entries or all_pages):
        parts = {part.index for part in checked}
        pairs = passages or {}
        scores = [xml for pair in pairs.values() for xml in (pair.before, pair.after)]
        engraving = engrave(
            path,
            knowledge,
            parts,
            ordered,
            whole=all_pages,
            passages=scores,
            fingered=fingered,
        )
        if engraving is None:
            notice = "The score could not be engraved."
        else:
            drawings = dict(zip(pairs, _pairs(engraving.passages), strict=True))
            entries = [_illustrated(entry, engraving, drawings, glyphs) for entry in entries]
            systems = _systems(engraving, entries, name, glyphs)
    drawn = {entry.name for system in systems for entry in system.entries}
    found = {finding.part_index for finding in report.findings}
    found.update(each.finding.part_index for each in report.accepted)
    return Section(
        name=name,
        report=report,
        file=one_line(PurePath(report.file).name),
        title=one_line(report.title, 200),
        composer=one_line(report.composer, 120),
        judged=_judged(checked),
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


def _judged(parts: Sequence[PartReport]) -> tuple[tuple[str, str], ...]:
    groups: dict[str, list[str]] = {}
    for part in parts:
        if part.level:
            groups.setdefault(players(part), []).append(part_name(part.name, part.index))
    return tuple((who, ", ".join(names)) for who, names in groups.items())


def _reading_order(finding: Finding) -> tuple[int, float, int, int, str]:
    gravity = -rank(finding.severity)
    return finding.measure_index, finding.beat, finding.part_index, gravity, finding.rule


def _entry(name: str, number: int, finding: Finding) -> FindingEntry:
    return FindingEntry(
        name=name,
        number=number,
        finding=finding,
        rule=one_line(finding.rule),
        part=part_name(finding.part, finding.part_index),
        where=place(finding),
        pitches=pitches(finding),
        says=tuple(linked_attributions(finding).items()),
        others=other_places(finding),
    )


def _pairs(drawings: Sequence[str]) -> list[tuple[str, str]]:
    return list(zip(drawings[::2], drawings[1::2], strict=True))


def _illustrated(
    entry: FindingEntry,
    engraving: Engraving,
    drawings: Mapping[int, Sequence[str]],
    glyphs: Glyphs,
) -> FindingEntry:
    """The entry with its strip over the piece, and its first proposal in notes."""
    strip_drawn = strip(entry.finding, len(engraving.measures))
    pair = drawings.get(entry.number - 1, ("", ""))
    if not all(pair):
        return replace(entry, strip=strip_drawn)
    before, after = (
        draw(svg, {}, f"{entry.name}-{when}", glyphs).svg
        for svg, when in zip(pair, ("before", "after"), strict=True)
    )
    return replace(entry, strip=strip_drawn, before=before, after=after)


def _systems(
    engraving: Engraving, entries: Sequence[FindingEntry], prefix: str, glyphs: Glyphs
) -> tuple[System, ...]:
    """Draw the systems, each with the findings whose notes stand in it."""
    inside: dict[int, list[FindingEntry]] = {system: [] for system in engraving.systems}
    labels: dict[str, list[Label]] = {}
    for entry, notes in zip(entries, engraving.concerned, strict=True):
        if notes:
            inside[engraving.places[notes[0]]].append(entry)
        for note in notes:
            leads = engraving.places[note] == engraving.places[notes[0]]
            label = Label(entry.name, entry.number, entry.finding.severity, entry.words, leads)
            labels.setdefault(note, []).append(label)
    return tuple(
        _system(number, draw(svg, labels, prefix, glyphs), prefix, engraving, inside[number])
        for number, svg in engraving.systems.items()
    )


def _system(
    number: int,
    drawing: Drawing,
    prefix: str,
    engraving: Engraving,
    entries: Sequence[FindingEntry],
) -> System:
    shown = [engraving.measures.get(measure, "") for measure in drawing.measures] or [""]
    return System(
        name=f"{prefix}-system-{number}",
        first=one_line(shown[0], 20),
        last=one_line(shown[-1], 20),
        svg=drawing.svg,
        entries=tuple(entry for entry in entries if entry.name in drawing.labelled),
    )
