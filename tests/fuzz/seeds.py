"""What is damaged: small whole inputs of every kind that the program reads."""

import re
import struct
from collections.abc import Mapping
from functools import cache
from pathlib import Path

import orchq

ROOT = Path(__file__).parents[2]
SMALL = ROOT / "tests" / "readers" / "data" / "small.musicxml"
GUIDE = ROOT / "orchq" / "docs" / "add-a-rule-or-question.md"

KERN = b"""**kern\t**kern
*I"Violoncello\t*I"Violin
*clefF4\t*clefG2
*M4/4\t*M4/4
=1\t=1
4C\t4g
4D\t(4a
2E\t2b-)
==\t==
*-\t*-
"""
ABC = b"""X:1
T:Tune
M:4/4
L:1/4
Q:1/4=120
V:1 clef=treble name="Violin"
K:C
|: G A (3_B c d z2 | [GB]4 :|
"""
MEI = b"""<mei xmlns="http://www.music-encoding.org/ns/mei"><music><body><mdiv><score>
<scoreDef meter.count="4" meter.unit="4"><staffGrp>
<staffDef n="1" lines="5" clef.shape="G" clef.line="2" label="Violin"/></staffGrp></scoreDef>
<section><measure n="1"><staff n="1"><layer n="1"><note pname="g" oct="4" dur="4"/>
<note pname="a" oct="4" dur="4"/><note pname="b" oct="4" dur="2" accid="f"/></layer></staff>
</measure></section></score></mdiv></body></music></mei>
"""
SETTINGS = b"""level = "orchestral"
trust = "forsyth"
fail-on = "warning"
[rules]
leave-out = ["key-too-remote"]
[severities]
stop-hard = "info"
chord-too-soft = "off"
[players]
"Violin I" = 14
"Viola" = "solo"
[[accepted]]
rule = "stop-impossible"
part = "Violin I"
measure = 12
beat = 3.0
file = "*.musicxml"
reason = "divided in performance"
"""
BASELINE = b"""{
  "orchq-baseline": 1,
  "files": {
    "score.musicxml": [
      {"part": "Violin", "measure": "2", "rule": "stop-impossible",
       "notes": ["A2", "G3"], "severity": "violation", "count": 2}
    ]
  }
}
"""


def midi() -> bytes:
    """Quarter notes of a violin; times and keys as the MIDI 1.0 file format writes them."""
    track = b"\x00\xff\x03\x06Violin\x00\xc0\x28\x00\xff\x51\x03\x07\xa1\x20"
    for key in (67, 69, 70):
        track += bytes([0, 0x90, key, 64, 0x83, 0x60, 0x80, key, 0])
    track += b"\x00\xff\x2f\x00"
    head = b"MThd" + struct.pack(">IHHH", 6, 0, 1, 480)
    return head + b"MTrk" + struct.pack(">I", len(track)) + track


@cache
def house() -> Mapping[str, bytes]:
    """The files of the extension of the guide: facts, a rule and a question."""
    found = re.findall(
        r"^With this in `house/([^`]+)`:\n\n```\w+\n(.*?)^```$",
        GUIDE.read_text(encoding="utf-8"),
        re.DOTALL | re.MULTILINE,
    )
    return {name: text.encode() for name, text in found}


@cache
def seed(kind: str) -> bytes:
    """A whole input of a kind, named as in ``kinds.KINDS``."""
    if kind in {"turtle", "nt", "jsonld"}:
        return orchq.export(SMALL, format=kind).encode()
    given = {
        "musicxml": SMALL.read_bytes,
        "html": SMALL.read_bytes,
        "mei": lambda: MEI,
        "kern": lambda: KERN,
        "abc": lambda: ABC,
        "midi": midi,
        "settings": lambda: SETTINGS,
        "baseline": lambda: BASELINE,
        "facts": lambda: house()["ours.ttl"],
        "rule": lambda: house()["no-col-legno.ttl"],
        "question": lambda: house()["our-loudness.rq"],
    }
    return given[kind]()
