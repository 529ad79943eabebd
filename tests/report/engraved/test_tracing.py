"""The notes that are marked are the notes of the finding, counted anew from the file."""

import re
import zipfile
from collections import Counter
from fractions import Fraction
from pathlib import Path

import pytest
import verovio
from lxml import etree, html
from msgspec.structs import replace

import orchq
from orchq.readers.tree import numbered_tree
from orchq.rules.finding import Finding

from .conftest import QUARTET

_SIGNS = {"-2": "bb", "-1": "b", "0": "", "1": "#", "2": "##", None: ""}
Place = tuple[int, int, Fraction, str]
"""Part and measure from 0, beat from 1 in quarter notes, pitch as it sounds."""


def places_in(path: Path) -> list[Place | None]:
    """Where each note of a partwise file stands, in the order of the file; rests are ``None``."""
    found: list[Place | None] = []
    for part, music in enumerate(_tree(path).findall("part")):
        divisions, octaves = 1, 0
        for measure, content in enumerate(music.findall("measure")):
            now = start = 0
            for element in content:
                divisions = int(element.findtext("divisions") or divisions)
                octaves = int(element.findtext("transpose/octave-change") or octaves)
                length = int(element.findtext("duration") or 0)
                if element.tag == "note":
                    if element.find("chord") is None:
                        start, now = now, now + length
                    beat = Fraction(start, divisions) + 1
                    pitch = element.find("pitch")
                    name = "" if pitch is None else _name(pitch, octaves)
                    found.append((part, measure, beat, name) if name else None)
                elif element.tag in {"backup", "forward"}:
                    now += length if element.tag == "forward" else -length
    return found


def _tree(path: Path) -> etree._Element:
    if path.suffix == ".mxl":
        with zipfile.ZipFile(path) as archive:
            name = next(n for n in archive.namelist() if not n.startswith("META-INF"))
            return etree.fromstring(archive.read(name))
    return etree.parse(path).getroot()


def _name(pitch: etree._Element, octaves: int) -> str:
    sign = _SIGNS[pitch.findtext("alter")]
    return f"{pitch.findtext('step')}{sign}{int(pitch.findtext('octave') or 0) + octaves}"


def expected(finding: Finding, *, everywhere: bool = False) -> set[Place]:
    """The notes of the first place of a finding, or of all."""
    return {
        (
            finding.part_index,
            place.measure_index,
            Fraction(place.beat).limit_denominator(1000),
            name,
        )
        for place in finding.all_places[: None if everywhere else 1]
        for name in place.notes
    }


def marked(page: str, places: list[Place | None]) -> dict[str, Counter[Place | None]]:
    """By finding, the places of the notes that the page marks."""
    found: dict[str, Counter[Place | None]] = {}
    for note in html.fromstring(page).iterfind(".//*[@data-findings]"):
        number = int(re.fullmatch(r"f1-n(\d+)", note.get("id") or "")[1])
        for name in note.get("data-findings").split():
            found.setdefault(name, Counter())[places[number - 1]] += 1
    return found


@pytest.mark.long
@pytest.mark.parametrize(
    ("path", "level"),
    [(orchq.demo_path(), None), (QUARTET, "student")],
    ids=["demo", "compressed quartet"],
)
def test_the_notes_marked_are_those_of_the_finding(path, level, page, graph):
    report = orchq.check(path, knowledge=graph, level=level)
    assert report.findings
    found = marked(page(report), places_in(path))
    assert len(found) == len(report.findings)
    for notes in found.values():
        assert set(notes.values()) == {1}
    several = 0
    for number, finding in enumerate(report.findings, 1):
        notes = found[f"f1-{number}"].keys()
        # of the places after the first those are marked that stand in a system that is shown
        assert expected(finding) <= notes <= expected(finding, everywhere=True)
        several += len(notes) > len(expected(finding))
    assert several or path == orchq.demo_path()


PIECES = [
    pytest.param(orchq.demo_path(), id="demo"),
    pytest.param(QUARTET, id="quartet", marks=pytest.mark.long),
]


@pytest.mark.long
@pytest.mark.parametrize("path", PIECES)
def test_every_note_is_found_again(path, page, graph):
    """A finding at each event, so that nothing rests on where mistakes happen to stand."""
    report = orchq.check(path, knowledge=graph)
    score = orchq.read(path, graph)
    model = report.findings[0]
    findings = tuple(
        replace(
            model,
            event=event.iri,
            part_index=part.index,
            measure_index=event.measure_index,
            beat=float(event.beat),
            notes=tuple(note.pitch.name for note in event.notes),
            places=(),
        )
        for part in score.parts
        for event in part.events
        if not event.grace
    )
    found = marked(page(replace(report, findings=findings)), places_in(path))
    assert sorted(map(sorted, found.values())) == sorted(
        sorted(expected(finding)) for finding in findings
    )


@pytest.mark.parametrize("path", PIECES)
def test_the_engraving_library_draws_each_note_under_its_identifier(path):
    root = numbered_tree(path)
    verovio.enableLog(verovio.LOG_OFF)
    toolkit = verovio.toolkit()
    toolkit.setInputFrom("musicxml")
    assert toolkit.loadData(etree.tostring(root, encoding="unicode"))
    for note in root.iter("note"):
        pitch = note.find("pitch")
        if pitch is not None:
            drawn = toolkit.getElementAttr(note.get("id"))
            step, octave = pitch.findtext("step"), pitch.findtext("octave")
            assert (drawn["pname"], drawn["oct"]) == (step.lower(), octave)


def test_a_note_of_a_chord_is_marked_alone(tmp_path, page, graph):
    """Of G3 and F3 together, only F3 lies below the violin."""
    path = tmp_path / "chord.musicxml"
    path.write_text(
        '<score-partwise><part-list><score-part id="P1"><part-name>Violin</part-name></score-part>'
        '</part-list><part id="P1"><measure number="1"><attributes><divisions>1</divisions>'
        "</attributes><note><pitch><step>F</step><octave>3</octave></pitch><duration>4</duration>"
        "<type>whole</type></note><note><chord/><pitch><step>D</step><octave>5</octave></pitch>"
        "<duration>4</duration><type>whole</type></note></measure></part></score-partwise>",
        encoding="utf-8",
    )
    report = orchq.check(path, knowledge=graph, rules={"note-below-lowest-string"})
    found = marked(page(report), places_in(path))
    assert found == {"f1-1": Counter({(0, 0, Fraction(1), "F3"): 1})}
