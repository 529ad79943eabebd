"""Which format a score file is in: what it holds decides, its ending only where that is open."""

import re
from pathlib import Path

from orchq.inputs import opened

MUSICXML_SUFFIXES = frozenset({".musicxml", ".xml", ".mxl"})
FOREIGN_FORMATS = {".mei": "mei", ".krn": "humdrum", ".abc": "abc", ".mid": "midi", ".midi": "midi"}
"""Endings of file names with music21's names for the formats."""

MUSICXML = "musicxml"
_NAMES = {
    MUSICXML: "MusicXML",
    "mei": "MEI",
    "humdrum": "Humdrum kern",
    "abc": "ABC",
    "midi": "MIDI",
}
_BEGINNING = 1 << 13
_ROOT = re.compile(r"<(?:[\w.-]+:)?(score-partwise|score-timewise|mei)\b")
_ABC = re.compile(r"X:\s*\d|(?:%[^\n]*\n\s*)+X:\s*\d")
_HUMDRUM = re.compile(r"(?:!![^\n]*\n)*\*\*\w")
_WIDE = (b"\xff\xfe", b"\xfe\xff")


def format_of(path: Path) -> str | None:
    """The format of a score file: ``musicxml`` or one that music21 names; ``None`` if unknown.

    Raises ``ReadError`` when the file cannot be opened.
    """
    with opened(path) as stream:
        held = _held(stream.read(_BEGINNING))
    return held or _by_ending(path)


def disagreement(path: Path, found: str) -> str | None:
    """A remark on a file whose ending names another format than it holds."""
    named = _by_ending(path)
    if named in (None, found):
        return None
    return f"the ending {path.suffix} is that of {_NAMES[str(named)]}; read as {_NAMES[found]}"


def _by_ending(path: Path) -> str | None:
    suffix = path.suffix.lower()
    return MUSICXML if suffix in MUSICXML_SUFFIXES else FOREIGN_FORMATS.get(suffix)


def _held(beginning: bytes) -> str | None:
    if beginning.startswith(b"PK\x03\x04"):
        return MUSICXML
    if beginning.startswith(b"MThd"):
        return "midi"
    wide = "utf-16" if beginning.startswith(_WIDE) else "utf-8-sig"
    text = beginning.decode(wide, "replace").lstrip()
    if text.startswith("<"):
        root = _ROOT.search(text)
        return None if root is None else "mei" if root[1] == "mei" else MUSICXML
    if _ABC.match(text):
        return "abc"
    return "humdrum" if _HUMDRUM.match(text) else None
