"""Formats that come in through music21."""

import re
import struct
import sys

import pytest

from orchq.errors import OrchqError, ReadError
from orchq.readers import read_score
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


@pytest.mark.parametrize("name", ["bad.mid", "bad.krn", "bad.mei", "bad.abc"])
def test_file_that_music21_cannot_read(read, name):
    pytest.importorskip("music21")
    with pytest.raises(ReadError, match=name):
        read(b"\x00\x01 nothing of the kind", name=name)


def test_missing_file_and_size(read, tmp_path, knowledge):
    with pytest.raises(ReadError, match=r"missing\.krn"):
        read_score(tmp_path / "missing.krn", knowledge)
    with pytest.raises(ReadError, match="max_bytes"):
        read(KERN, name="large.krn", max_bytes=10)


def test_without_music21_the_error_says_what_to_install(read, monkeypatch):
    monkeypatch.setitem(sys.modules, "music21", None)
    with pytest.raises(OrchqError, match="music21"):
        read(KERN, name="tune.krn")
