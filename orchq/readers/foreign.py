"""Reads formats other than MusicXML, converted in memory by music21.

music21 is optional and slow to import, and a few bytes can keep it busy for ever: it runs in a
separate process. What a format cannot carry is reported in the score's remarks, not guessed.
"""

import json
import re
from importlib.util import find_spec
from pathlib import Path

from lxml import etree
from msgspec.structs import replace

from orchq.bounded import done
from orchq.errors import OrchqError
from orchq.inputs import read_whole
from orchq.knowledge import Knowledge
from orchq.readers.container import SAFE
from orchq.readers.mei_prints import add_prints, simplified
from orchq.readers.musicxml import read_musicxml_bytes
from orchq.readers.read_limits import ReadLimits
from orchq.readers.source import Element, InputFile
from orchq.score import Score

_ABC_NAME = re.compile(r'^V:.*?\b(?:name|nm)\s*=\s*"([^"\n]*)"', re.MULTILINE)
_NOT_CARRIED = {
    "mei": "MEI: notes, slurs and articulations are read through music21, names, words, dynamics,"
    " tempi and hairpins directly; tremolos, string numbers, fingerings and harmonics are not read",
    "humdrum": "Humdrum kern is read through music21: playing techniques, fingerings and words in"
    " spines of their own are lost",
    "abc": "ABC is read through music21: decorations and words for playing techniques are not"
    " passed on",
    "midi": "MIDI has no slurs, words, bowings, fingerings, spelling or printed dynamics: only"
    " pitches and durations are checked",
}
_DECLARATION = re.compile(r"^\s*<\?xml[^>]*\?>")
_MARKS = {b"\xef\xbb\xbf": "utf-8-sig", b"\xff\xfe": "utf-16", b"\xfe\xff": "utf-16"}
_CONVERSION = "orchq.readers.conversion"
_SECONDS = 300  # a long symphony takes less than one minute
_SIGNATURES = {
    "mei": re.compile(r'\bmeter\.count="([^"]*)"|<(?:\w+:)?meterSig\b[^>]*?\scount="([^"]*)"'),
    "humdrum": re.compile(r"\*M(\d[^\s/]*)/()"),
    "abc": re.compile(r"^(?:.*\[)?M:([^\n/\]]*)/()", re.MULTILINE),
}
_BEATS = re.compile(r"(?:[-+*/. ()]|(?<!\d)0*(?:1?\d?\d|2[0-4]\d|25[0-5])(?!\d))*")
"""Up to 255 beats, as many as MIDI can state: music21 works on more for hours."""
_MADE_UP = frozenset({"Music21", "Music21 Fragment"})


def read_foreign(
    path: Path, format_name: str, knowledge: Knowledge, limits: ReadLimits | None = None
) -> Score:
    """Read an MEI, Humdrum kern, ABC or MIDI file; ``format_name`` is music21's.

    Raises ``OrchqError`` when music21 is not installed and ``ReadError`` when it cannot read the
    file or the file is larger than the limits allow.
    """
    limits = limits or ReadLimits()
    source = InputFile(str(path), has_lines=False)
    converted = as_musicxml(path, format_name, source, limits)
    score = read_musicxml_bytes(converted, path, knowledge, limits)
    remarks = (_NOT_CARRIED[format_name], *source.remarks.sentences(), *score.remarks)
    return replace(score, remarks=remarks)


def as_musicxml(path: Path, format_name: str, source: InputFile, limits: ReadLimits) -> bytes:
    """Convert a file of these formats to MusicXML. Raises the errors of ``read_foreign``."""
    data = read_whole(path, limits.max_converted_bytes, "files in this format")
    prints, text = None, None
    if format_name != "midi":
        text = _text(data, source)
    if format_name == "mei":
        try:
            simple, prints = simplified(_DECLARATION.sub("", str(text), count=1).encode())
        except etree.XMLSyntaxError as error:
            raise source.fault(f"is not well-formed XML: {error.msg}") from error
        text = simple.decode()
        for name, count in sorted(prints.lost.items()):
            source.remarks.add("", f"<{name}> is not read", times=count)
    if text is not None:
        _refuse_endless_measures(text, format_name, source)
    root = _converted(path, format_name, source, text)
    _steady_names(root, _printed_names(text or "", format_name))
    if prints is not None:
        add_prints(root, prints)
    return etree.tostring(root, encoding="utf-8")


def _text(data: bytes, source: InputFile) -> str:
    """The text of a file, by its byte order mark, as UTF-8 or else as Windows-1252 or Latin-1."""
    for mark, encoding in _MARKS.items():
        if data.startswith(mark):
            if encoding != "utf-8-sig":
                source.remarks.add("", f"is written in {encoding.upper()}, and read as such")
            return data.decode(encoding, "replace")
    try:
        return data.decode("utf-8")
    except UnicodeDecodeError:
        source.remarks.add("", "is not UTF-8; read as Windows-1252")
        return data.decode("cp1252", "replace")


def _refuse_endless_measures(text: str, format_name: str, source: InputFile) -> None:
    for found in _SIGNATURES[format_name].finditer(text):
        beats = found[1] or found[2] or ""
        if not _BEATS.fullmatch(beats):
            raise source.fault(f"a time signature of {beats[:40]!r} beats is not read")


def _printed_names(text: str, format_name: str) -> list[str]:
    """The names of parts that music21 does not keep, in the order of its parts."""
    if format_name not in {"abc", "humdrum"}:
        return []
    if format_name == "abc":
        return _ABC_NAME.findall(text)
    # Spines stand from the lowest part to the highest.
    line = next((line for line in text.splitlines() if line.startswith('*I"')), "")
    return [token[3:] for token in line.split("\t") if token.startswith('*I"')][::-1]


def _steady_names(root: Element, names: list[str]) -> None:
    """Number the parts, whose identifiers music21 makes up at random, and name unnamed ones.

    The title and composer that music21 inserts where the file names none are removed.
    """
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


def _converted(path: Path, format_name: str, source: InputFile, text: str | None) -> Element:
    if find_spec("music21") is None:
        raise OrchqError(
            f"{path}: reading this format needs music21: pip install 'orchq[other-formats]'"
        )
    asked = {"path": str(path.resolve()), "format": format_name, "text": text}
    ended = done(_CONVERSION, json.dumps(asked).encode(), _SECONDS)
    if ended.late:
        raise source.fault(f"music21 did not finish reading within {_SECONDS} seconds")
    if ended.code == 1:
        raise source.fault(f"music21 cannot read it: {ended.written.decode()}")
    if ended.code:
        raise source.fault("music21 needs too much memory or too long to read it")
    try:
        return etree.fromstring(ended.written, etree.XMLParser(**SAFE))
    except etree.XMLSyntaxError as error:
        raise source.fault(f"music21 produced invalid MusicXML: {error.msg}") from error
