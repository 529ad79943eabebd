"""Formats that come in through music21."""

import re
import struct
import sys
from fractions import Fraction
from pathlib import Path

import pytest

from orchq import Project
from orchq.errors import OrchqError, ReadError
from orchq.readers import foreign, read_score, read_text
from orchq.readers.mei_prints import simplified
from orchq.terms import OQ

KERN = """**kern\t**kern
*I"Violoncello\t*I"Violin
*clefF4\t*clefG2
*M4/4\t*M4/4
=1\t=1
4C\t4g
4D\t4a
2E\t2b-
==\t==
*-\t*-
"""
ABC = """X:1
T:Tune
M:4/4
L:1/4
V:1 clef=treble name="Violin"
K:C
G A _B2 |
"""
MEI = """<mei xmlns="http://www.music-encoding.org/ns/mei"><music><body><mdiv><score>
<scoreDef meter.count="4" meter.unit="4"><staffGrp>
<staffDef n="1" lines="5" clef.shape="G" clef.line="2" label="Violin"/></staffGrp></scoreDef>
<section><measure n="1"><staff n="1"><layer n="1"><note pname="g" oct="4" dur="4"/>
<note pname="a" oct="4" dur="4"/><note pname="b" oct="4" dur="2" accid="f"/></layer></staff>
</measure></section></score></mdiv></body></music></mei>
"""


def midi(name: bytes, program: int, *keys: int) -> bytes:
    """One track of quarter notes; times and keys as the MIDI 1.0 file format writes them."""
    track = b"\x00\xff\x03" + bytes([len(name)]) + name + b"\x00\xc0" + bytes([program])
    for key in keys:
        track += bytes([0, 0x90, key, 64, 0x83, 0x60, 0x80, key, 0])
    track += b"\x00\xff\x2f\x00"
    head = b"MThd" + struct.pack(">IHHH", 6, 0, 1, 480)
    return head + b"MTrk" + struct.pack(">I", len(track)) + track


@pytest.mark.parametrize(
    ("content", "ending"),
    [(KERN, ".krn"), (ABC, ".abc"), (MEI, ".mei"), (midi(b"Violin", 40, 67, 69, 70), ".mid")],
    ids=["kern", "abc", "mei", "midi"],
)
def test_notes_come_through_and_what_does_not_is_said(read, content, ending):
    pytest.importorskip("music21")
    score = read(content, name=f"tune{ending}")
    part = next(part for part in score.parts if part.instrument == OQ + "violin")
    assert [(e.onset, e.notes[0].pitch.midi) for e in part.events] == [(0, 67), (1, 69), (2, 70)]
    assert re.match(r"ni:///sha-256-96;[\w-]{16}#P", part.iri)
    assert score.remarks


@pytest.mark.long
def test_readings_of_one_file_have_the_same_iris(read):
    pytest.importorskip("music21")
    first, second = (read(ABC, name="tune.abc") for _ in range(2))
    assert first == second


def test_midi_gives_sounding_pitches_of_a_double_bass(read):
    """Key 28 is E1, the lowest string; General MIDI program 43 (from 0) is the contrabass."""
    pytest.importorskip("music21")
    part = read(midi(b"Contrabass", 43, 28, 43), name="bass.midi").parts[0]
    assert part.instrument == OQ + "double-bass"
    assert [str(event.notes[0].pitch) for event in part.events] == ["E1", "G2"]


MEI_STAFF = """<mei xmlns="http://www.music-encoding.org/ns/mei"><music><body><mdiv><score>
<scoreDef meter.count="4" meter.unit="4"><staffGrp>{staves}</staffGrp></scoreDef>
<section><measure n="1"><staff n="1"><layer n="1"><note xml:id="a" pname="g" oct="4" dur="4"/>
<note pname="a" oct="4" dur="4"><artic artic="stacc"/></note><tuplet num="3" numbase="2">
<note pname="b" oct="4" dur="4"/><note xml:id="d" pname="b" oct="4" dur="4"/>
<note pname="b" oct="4" dur="4"/></tuplet></layer></staff>{events}</measure>
</section></score></mdiv></body></music></mei>"""
LINES = 'n="1" lines="5" clef.shape="G" clef.line="2"'


@pytest.mark.sampled(3)
@pytest.mark.parametrize(
    "staves",
    [
        f'<staffDef {LINES} label="Violin"/>',
        f"<staffDef {LINES}><label>Violin</label><labelAbbr>Vl.</labelAbbr></staffDef>",
        f"<staffDef {LINES}><label><rend>Violin</rend> I</label></staffDef>",
        f"<staffGrp><label>Violin</label><staffDef {LINES}/></staffGrp>",
        f'<staffGrp label="Violin"><staffGrp><staffDef {LINES}/></staffGrp></staffGrp>',
        f'<staffDef {LINES}><instrDef midi.instrname="Violin"/></staffDef>',
    ],
    ids=["attribute", "child", "styled", "group", "group of groups", "instrument"],
)
def test_mei_names_a_staff_in_many_ways(read, staves):
    """Attributes of MEI 3 and elements of MEI 4 and 5 (guidelines, module shared: label)."""
    pytest.importorskip("music21")
    part = read(MEI_STAFF.format(staves=staves, events=""), name="names.mei").parts[0]
    assert part.instrument == OQ + "violin"


def test_what_mei_prints_beside_its_notes_is_read_in_its_place(read):
    pytest.importorskip("music21")
    events = (
        '<dir staff="1" tstamp="2">pizz.</dir><dynam startid="#a">pp</dynam>'
        '<dynam startid="#d">f</dynam><hairpin staff="1" form="cres" tstamp="1" tstamp2="0m+2"/>'
        '<tempo staff="1" tstamp="1" mm="90" mm.unit="4">Allegro</tempo><fermata startid="#d"/>'
    )
    staves = f'<staffDef {LINES} label="Violin"/>'
    score = read(MEI_STAFF.format(staves=staves, events=events), name="signs.mei")
    (part,) = score.parts
    places = {iri.removeprefix(OQ): mark.onset for mark in part.marks for iri in mark.directives}
    expected = {"pizzicato": 1, "pp": 0, "f": Fraction(8, 3), "tempo-allegro": 0}
    assert expected.items() <= places.items()
    assert [(pin.grows, pin.onset, pin.end) for pin in part.hairpins] == [(True, 0, 1)]
    assert [mark.tempo for mark in part.marks if mark.tempo] == [90]
    assert OQ + "staccato" in part.events[1].marks
    assert "<fermata> is not read" in score.remarks


@pytest.mark.parametrize(
    ("dotted", "place"),
    [
        ('dur="4" dots="1"/>', Fraction(3, 2)),
        ('dur="4" dots="2"/>', Fraction(7, 4)),
        ('dur="4"><dot/></note>', Fraction(3, 2)),
        ('dur="4"><dot/><dot/></note>', Fraction(7, 4)),
        ('dur="breve"/>', 8),
        ('dur="4" grace="unacc"/>', 0),
    ],
)
def test_dots_move_what_is_printed_at_the_next_note(dotted, place):
    """Half of the length for the first dot, half of that for the next, written either way."""
    content = MEI.replace('pname="g" oct="4" dur="4"/>', f'pname="g" oct="4" {dotted}')
    content = content.replace('<note pname="a"', '<note xml:id="a" pname="a"')
    content = content.replace("</staff>", '</staff><dynam startid="#a">pp</dynam>')
    _, prints = simplified(content.encode())
    assert [found for found, _ in prints.directions[0, 0]] == [place]


@pytest.mark.sampled(3)
@pytest.mark.parametrize(
    ("content", "name"),
    [
        (MEI, "tune.xml"),
        (MEI, "tune"),
        (ABC, "tune.krn"),
        (KERN, "tune.txt"),
        (midi(b"Violin", 40, 67, 69, 70), "tune.abc"),
    ],
)
def test_what_a_file_holds_decides(read, content, name):
    pytest.importorskip("music21")
    score = read(content, name=name)
    part = next(part for part in score.parts if part.instrument == OQ + "violin")
    assert [e.notes[0].pitch.midi for e in part.events] == [67, 69, 70]
    told = any(remark.startswith("the ending") for remark in score.remarks)
    assert told == name.endswith((".xml", ".krn", ".abc"))


@pytest.mark.parametrize(
    ("written", "remark"),
    [
        (MEI.encode("utf-8-sig"), None),
        (('<?xml version="1.0" encoding="UTF-8"?>' + MEI).encode("utf-16"), "UTF-16"),
        (MEI.replace("<music>", "<music><!-- \u00e0 2 -->").encode("cp1252"), "is not UTF-8"),
    ],
    ids=["mark", "wide", "narrow"],
)
def test_other_encodings_are_read_with_a_remark(read, written, remark):
    pytest.importorskip("music21")
    score = read(written, name="tune.mei")
    assert score.parts[0].instrument == OQ + "violin"
    assert len(score.parts[0].events) == 3
    if remark is not None:
        assert any(remark in each for each in score.remarks)


TWINS = {
    "kern": ('**kern\n*I"Violin\n*clefG2\n*M4/4\n=1\n4F\n4a\n2b-\n==\n*-\n', ".krn"),
    "abc": (ABC.replace("G A _B2", "F, A _B2"), ".abc"),
    "mei": (MEI.replace('pname="g" oct="4"', 'pname="f" oct="3"'), ".mei"),
    "midi": (midi(b"Violin", 40, 53, 69, 70), ".mid"),
}


@pytest.mark.parametrize("form", TWINS)
def test_twins_in_all_formats_give_the_same_findings(form, tmp_path):
    """F3 lies below the violin's lowest string, G3, in every format."""
    pytest.importorskip("music21")
    content, ending = TWINS[form]
    path = tmp_path / f"twin{ending}"
    path.write_bytes(content if isinstance(content, bytes) else content.encode())
    report = Project(advice=False).check_file(path)
    found = {(each.measure_index, each.beat, each.rule, each.severity) for each in report.findings}
    assert found == {(0, 1.0, "note-below-lowest-string", "violation")}


@pytest.mark.nightly
def test_a_movement_and_its_twins_agree(tmp_path):
    """Beethoven, op. 18 no. 1, from music21's corpus: MusicXML, kern, and MEI that verovio writes.

    Kern carries no words and no fingered harmonics, so that it may find less, never more.
    """
    music21 = pytest.importorskip("music21")
    verovio = pytest.importorskip("verovio")
    folder = Path(music21.__file__).parent / "corpus" / "beethoven" / "opus18no1"
    project = Project(advice=False)
    for movement in ("movement1", "movement2", "movement3"):
        printed = read_text(folder / f"{movement}.mxl").decode()
        toolkit = verovio.toolkit()
        assert toolkit.loadData(printed)
        mei = tmp_path / f"{movement}.mei"
        mei.write_text(toolkit.getMEI(), encoding="utf-8")
        reports = [
            project.check_file(path)
            for path in (folder / f"{movement}.mxl", mei, folder / f"{movement}.krn")
        ]
        whole, same, fewer = (
            {(f.part_index, f.measure_index, f.beat, f.rule, f.severity) for f in report.findings}
            for report in reports
        )
        assert same == whole
        assert {(measure, rule) for _, measure, _, rule, _ in fewer} <= {
            (measure, rule) for _, measure, _, rule, _ in whole
        }
        assert all(part.checked for report in reports for part in report.parts)


@pytest.mark.parametrize("name", ["bad.mid", "bad.krn", "bad.mei", "bad.abc"])
def test_file_that_music21_cannot_read(read, name):
    pytest.importorskip("music21")
    with pytest.raises(ReadError, match=name):
        read(b"\x00\x01 nothing of the kind", name=name)


@pytest.mark.parametrize(
    ("content", "ending", "old", "new"),
    [
        (MEI, ".mei", 'meter.count="4"', 'meter.count="1e400"'),
        (MEI, ".mei", 'meter.count="4"', 'meter.count="256"'),
        (MEI, ".mei", "<section>", '<section><meterSig unit="4" count="2+999"/>'),
        (KERN, ".krn", "*M4/4", "*M400/4"),
        (ABC, ".abc", "M:4/4", "M:3+400/4"),
        (ABC, ".abc", "G A _B2", "[K:C][M:1000/4] G A _B2"),
    ],
)
def test_measures_that_music21_never_ends_with_are_refused(
    read, monkeypatch, content, ending, old, new
):
    """More beats than MIDI can state in its byte."""
    monkeypatch.setattr("orchq.readers.foreign.done", lambda *_: pytest.fail("music21 is asked"))
    assert old in content
    with pytest.raises(ReadError, match=r"time signature of '.*' beats is not read"):
        read(content.replace(old, new, 1), ending)


@pytest.mark.parametrize("beats", ["4", "255", "2+3", "3*2", "(2+3)", ""])
def test_measures_of_some_beats_are_asked_for(beats):
    assert foreign._BEATS.fullmatch(beats)


def test_missing_file_and_size(read, tmp_path, knowledge):
    with pytest.raises(ReadError, match=r"missing\.krn"):
        read_score(tmp_path / "missing.krn", knowledge)
    with pytest.raises(ReadError, match="max_bytes"):
        read(KERN, name="large.krn", max_bytes=10)


def test_without_music21_the_error_says_what_to_install(read, monkeypatch):
    monkeypatch.setitem(sys.modules, "music21", None)
    with pytest.raises(OrchqError, match="music21"):
        read(KERN, name="tune.krn")
