"""Reads score files: MusicXML directly, other formats through a general library."""

from pathlib import Path

from msgspec.structs import replace

from orchq.errors import ReadError
from orchq.knowledge import Knowledge
from orchq.knowledge.store import TRIPLE_SUFFIXES
from orchq.readers.container import chunks_of
from orchq.readers.foreign import read_foreign
from orchq.readers.musicxml import read_musicxml
from orchq.readers.read_limits import ReadLimits
from orchq.readers.score_formats import (
    FOREIGN_FORMATS,
    MUSICXML,
    MUSICXML_SUFFIXES,
    disagreement,
    format_of,
)
from orchq.readers.source import InputFile
from orchq.score import Score

__all__ = [
    "FOREIGN_FORMATS",
    "MUSICXML_SUFFIXES",
    "ReadLimits",
    "read_musicxml",
    "read_score",
    "read_text",
]


def read_score(path: Path, knowledge: Knowledge, limits: ReadLimits | None = None) -> Score:
    """Read a score in the format that it holds, or else that its ending names.

    Raises ``ReadError`` when the file cannot be read or its format is unknown, ``OrchqError`` when
    the library for other formats is not installed.
    """
    suffix = path.suffix.lower()
    if (found := format_of(path)) is not None:
        if found == MUSICXML:
            score = read_musicxml(path, knowledge, limits)
        else:
            score = read_foreign(path, found, knowledge, limits)
        odd = disagreement(path, found)
        return replace(score, remarks=(odd, *score.remarks)) if odd else score
    known = ", ".join(sorted({*MUSICXML_SUFFIXES, *FOREIGN_FORMATS}))
    triples = ", ".join(sorted(TRIPLE_SUFFIXES))
    raise ReadError(
        f"{path}: the ending {suffix or '(none)'} is not a score format; known: {known}; "
        f"for triples: {triples}"
    )


def read_text(path: Path, limits: ReadLimits | None = None) -> bytes:
    """Return the text of a MusicXML file unchanged, unpacked if it is compressed.

    Raises ``ReadError`` when it cannot be read or exceeds the limits.
    """
    return b"".join(chunks_of(path, InputFile(str(path)), limits or ReadLimits()))
