"""Reads formats other than MusicXML, converted in memory by music21.

music21 is optional and slow to import, and a few bytes can keep it busy for ever: it runs in a
separate process. What a format cannot carry is reported in the score's remarks, not guessed.
"""

import json
import re
from dataclasses import replace
from importlib.util import find_spec
from pathlib import Path

from lxml import etree

from orchq.bounded import done
from orchq.errors import OrchqError
from orchq.inputs import read_whole
from orchq.knowledge import Knowledge
from orchq.readers.container import SAFE
from orchq.readers.musicxml import read_musicxml_bytes
from orchq.readers.read_limits import ReadLimits
from orchq.readers.source import InputFile
from orchq.score import Score

FOREIGN_FORMATS = {".mei": "mei", ".krn": "humdrum", ".abc": "abc", ".mid": "midi", ".midi": "midi"}
"""Endings of file names with music21's names for the formats."""

_ABC_NAME = re.compile(r'^V:.*?\b(?:name|nm)\s*=\s*"([^"\n]*)"', re.MULTILINE)
_NOT_CARRIED = {
    "mei": "MEI is read through music21, which keeps notes, slurs and few marks: words,"
    " dynamics and playing techniques may be missing",
    "humdrum": "Humdrum kern is read through music21: playing techniques, fingerings and words in"
    " spines of their own are lost",
    "abc": "ABC is read through music21: decorations and words for playing techniques are not"
    " passed on",
    "midi": "MIDI has no slurs, words, bowings, fingerings, spelling or printed dynamics: only"
    " pitches and durations are checked",
}
_CONVERSION = "orchq.readers.conversion"
_SECONDS = 300  # a long symphony takes less than one minute
_MADE_UP = frozenset({"Music21", "Music21 Fragment"})


def read_foreign(path: Path, knowledge: Knowledge, limits: ReadLimits | None = None) -> Score:
    """Read an MEI, Humdrum kern, ABC or MIDI file.

    Raises ``OrchqError`` when music21 is not installed and ``ReadError`` when it cannot read the
    file or the file is larger than the limits allow.
    """
    limits = limits or ReadLimits()
    score = read_musicxml_bytes(as_musicxml(path, limits), path, knowledge, limits)
    remark = _NOT_CARRIED[FOREIGN_FORMATS[path.suffix.lower()]]
    return replace(score, remarks=(remark, *score.remarks))


def as_musicxml(path: Path, limits: ReadLimits) -> bytes:
    """Convert a file of these formats to MusicXML. Raises the errors of ``read_foreign``."""
    source = InputFile(str(path))
    data = read_whole(path, limits.max_converted_bytes, "files in this format")
    return _converted(path, FOREIGN_FORMATS[path.suffix.lower()], source, data)


def _printed_names(data: bytes, format_name: str) -> list[str]:
    """The names of parts that music21 does not keep, in the order of its parts."""
    if format_name not in {"abc", "humdrum"}:
        return []
    text = data.decode("utf-8", "replace")
    if format_name == "abc":
        return _ABC_NAME.findall(text)
    # Spines stand from the lowest part to the highest.
    line = next((line for line in text.splitlines() if line.startswith('*I"')), "")
    return [token[3:] for token in line.split("\t") if token.startswith('*I"')][::-1]


def _with_steady_names(data: bytes, names: list[str]) -> bytes:
    """Number the parts, whose identifiers music21 makes up at random, and name unnamed ones.

    The title and composer that music21 inserts where the file names none are removed.
    """
    root = etree.fromstring(data, etree.XMLParser(**SAFE))
    for named in (*root.findall("movement-title"), *root.findall("identification/creator")):
        if named.text in _MADE_UP:
            named.text = None
    parts = root.findall("part-list/score-part")
    steady = {part.get("id"): f"P{number}" for number, part in enumerate(parts, 1)}
    for place, part in enumerate(parts):
        part.set("id", steady[part.get("id")])
        name = part.find("part-name")
        if name is not None and not name.text and len(names) == len(parts):
            name.text = names[place]
    for music in root.findall("part"):
        music.set("id", steady.get(music.get("id"), ""))
    return etree.tostring(root, encoding="utf-8")


def _converted(path: Path, format_name: str, source: InputFile, data: bytes) -> bytes:
    if find_spec("music21") is None:
        raise OrchqError(
            f"{path}: reading this format needs music21: pip install 'orchq[other-formats]'"
        )
    asked = {"path": str(path.resolve()), "format": format_name}
    ended = done(_CONVERSION, json.dumps(asked).encode(), _SECONDS)
    if ended.late:
        raise source.fault(f"music21 did not finish reading within {_SECONDS} seconds")
    if ended.code == 1:
        raise source.fault(f"music21 cannot read it: {ended.written.decode()}")
    if ended.code:
        raise source.fault("music21 needs too much memory or too long to read it")
    try:
        return _with_steady_names(ended.written, _printed_names(data, format_name))
    except etree.XMLSyntaxError as error:
        raise source.fault(f"music21 produced invalid MusicXML: {error.msg}") from error
