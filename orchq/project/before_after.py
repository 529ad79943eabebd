"""What a score looks like before and after its first proposals, as short passages of MusicXML."""

from collections.abc import Collection, Mapping, Sequence
from pathlib import Path
from typing import TYPE_CHECKING, cast

from lxml import etree
from msgspec import Struct

from orchq.lazily import lazily
from orchq.project.corrections import music_of
from orchq.project.judge import Judge
from orchq.readers import MUSICXML_SUFFIXES
from orchq.readers.container import SAFE
from orchq.readers.musicxml import read_musicxml_bytes
from orchq.readers.source import Element
from orchq.rules.finding import FileReport, Finding
from orchq.writers.rewriting import NotWritableError, write_into
from orchq.writers.score_text import ScoreText

if TYPE_CHECKING:
    from orchq import advice as remedying
else:
    (remedying,) = lazily("orchq", "advice")

_MOST = 24
"""Findings of a file whose proposals are shown so, the gravest first."""
_LONGEST = 3
"""Measures of a passage."""
_CARRIED = ("divisions", "key", "time", "staves", "clef", "transpose")
"""Attributes that a passage takes over from before it, in the order of MusicXML."""


class BeforeAfter(Struct, frozen=True):
    """A passage as it is written, and as the first proposal would have it, as MusicXML."""

    before: str
    after: str


def before_after(report: FileReport, judge: Judge) -> Mapping[int, BeforeAfter]:
    """Return passages by the place of their finding in the report, if its proposal can be written.

    Left out are findings without a verified proposal, those of files in other formats, and all but
    the gravest of very many. Raises ``ReadError`` when the file can no longer be read.
    """
    path = Path(report.file)
    grave = [
        (finding.severity != "violation", number)
        for number, finding in enumerate(report.findings)
        if finding.instead and finding.instead[0].verified
    ]
    if not grave or path.suffix.lower() not in MUSICXML_SUFFIXES:
        return {}
    among = [number for _, number in sorted(grave)[:_MOST]]
    data = music_of(path)
    score = judge.seated(read_musicxml_bytes(data, path, judge.knowledge))
    found = remedying.verified_rewritings(report, judge.bench(score), among=among)
    text = ScoreText(data, report.file)
    shown: dict[int, BeforeAfter] = {}
    for number, rewritings in found.items():
        finding = report.findings[number]
        if not rewritings or rewritings[0].candidate.do != finding.instead[0].do:
            continue
        rewritten = rewritings[0].apply(score)
        try:
            after = write_into(text.fresh(), score, rewritten, judge.knowledge)
        except NotWritableError:
            continue
        names = {part.iri: part.id for part in score.parts}
        parts = [names[iri] for iri, _ in rewritings[0].candidate.edits]
        measures = _measures(finding, rewritings[0])
        shown[number] = BeforeAfter(
            _passage(data, parts, measures), _passage(after, parts, measures)
        )
    return shown


def _measures(finding: Finding, rewriting: "remedying.Rewriting") -> range:
    """The measures to show: those rewritten from the first on, or about the finding."""
    first, last = rewriting.candidate.first.measure_index, rewriting.candidate.last.measure_index
    first = min(first, finding.measure_index)
    if finding.measure_index >= first + _LONGEST:
        first = finding.measure_index
    return range(first, max(finding.measure_index, min(last, first + _LONGEST - 1)) + 1)


def _passage(data: bytes, parts: Collection[str], measures: range) -> str:
    """These measures of these parts (identifiers in the file), with the attributes in force."""
    root = cast(Element, etree.fromstring(data, etree.XMLParser(**SAFE)))
    for element in (*root.findall("part"), *root.findall("part-list/score-part")):
        if element.get("id") not in parts:
            _take(element)
    for group in root.findall("part-list/part-group"):
        _take(group)
    for part in root.findall("part"):
        every = part.findall("measure")
        carried = _in_force(every[: measures.start])
        for index, measure in enumerate(every):
            if index not in measures:
                _take(measure)
        kept = part.findall("measure")
        if kept and len(carried):
            kept[0].insert(0, carried)
    return etree.tostring(root, encoding="unicode")


def _in_force(measures: Sequence[Element]) -> Element:
    """The attributes that hold after some measures."""
    last: dict[tuple[str, str], Element] = {}
    for measure in measures:
        for attributes in measure.findall("attributes"):
            for child in attributes:
                if child.tag in _CARRIED:
                    last[str(child.tag), child.get("number") or ""] = child
    carried = etree.Element("attributes")
    carried.extend(sorted(last.values(), key=lambda child: _CARRIED.index(str(child.tag))))
    return carried


def _take(element: Element) -> None:
    parent = element.getparent()
    if parent is not None:
        parent.remove(element)
