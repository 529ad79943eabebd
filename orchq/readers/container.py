"""Opens a score file, plain or compressed, within bounds; nothing is written to disk."""

import re
import zipfile
import zlib
from collections.abc import Iterator
from pathlib import Path
from typing import IO, TypedDict

from lxml import etree

from orchq.inputs import opened
from orchq.readers.read_limits import ReadLimits
from orchq.readers.source import InputFile

CHUNK = 1 << 16
_ZIP_MAGIC = b"PK\x03\x04"
_SMALL = 1 << 20  # below this size the ratio is not checked
_CONTAINER = "META-INF/container.xml"
_WIDE = re.compile(
    rb"(?:\xef\xbb\xbf)?\s*<\?xml[^>]*encoding\s*=\s*[\"'](utf-?(?:16|32)(?:[bl]e)?)[\"']",
    re.IGNORECASE,
)


class _ParserOptions(TypedDict):
    resolve_entities: bool
    load_dtd: bool
    no_network: bool
    huge_tree: bool
    remove_comments: bool
    remove_pis: bool


SAFE: _ParserOptions = {
    "resolve_entities": False,
    "load_dtd": False,
    "no_network": True,
    "huge_tree": False,
    "remove_comments": True,
    "remove_pis": True,
}
"""Parser options for untrusted files: nothing outside the file is ever loaded.

``huge_tree`` stays off: it would lift the parser's own bounds on depth and on entities. Leave
``collect_ids`` alone: turning it off makes the parser load the DTD after all.
"""


def chunks_of(path: Path, source: InputFile, limits: ReadLimits) -> Iterator[bytes]:
    """Yield the XML of a score piece by piece, unpacked if it is compressed.

    Compression is detected from the first bytes, not from the name. Raises ``ReadError`` when the
    file cannot be opened, is not a score container, or exceeds the limits.
    """
    with opened(path) as file:
        magic = file.read(len(_ZIP_MAGIC))
        file.seek(0)
        source.has_lines = magic != _ZIP_MAGIC
        pieces = _pieces(file) if source.has_lines else _unpacked(file, source, limits)
        yield from _bounded(pieces, source, limits)


def chunks_in(data: bytes, source: InputFile, limits: ReadLimits) -> Iterator[bytes]:
    """Yield XML that is already in memory, within the same bounds."""
    pieces = (data[start : start + CHUNK] for start in range(0, len(data), CHUNK))
    return _bounded(pieces, source, limits)


def _pieces(file: IO[bytes]) -> Iterator[bytes]:
    while piece := file.read(CHUNK):
        yield piece


def _bounded(pieces: Iterator[bytes], source: InputFile, limits: ReadLimits) -> Iterator[bytes]:
    total = 0
    for piece in pieces:
        begins = total == 0
        total += len(piece)
        if total > limits.max_bytes:
            raise source.fault(f"is larger than {limits.max_bytes} bytes (max_bytes)")
        yield _as_written(piece, source) if begins else piece


def _as_written(piece: bytes, source: InputFile) -> bytes:
    """Return the beginning of a file; a wide encoding that its bytes contradict is read as UTF-8.

    Programs that hold text as UTF-16 in memory may declare that encoding but write UTF-8.
    """
    declared = _WIDE.match(piece)
    if declared is None:
        return piece
    source.remarks.add("", f"declares {declared[1].decode()}, but is written and read as UTF-8")
    return piece[: declared.start(1)] + b"UTF-8" + piece[declared.end(1) :]


def _unpacked(file: IO[bytes], source: InputFile, limits: ReadLimits) -> Iterator[bytes]:
    try:
        with zipfile.ZipFile(file) as archive:
            members = archive.infolist()
            if len(members) > limits.max_members:
                raise source.fault(f"holds more than {limits.max_members} files (max_members)")
            member = _score_member(archive, source)
            yield from _member_pieces(archive, member, source, limits)
    except (zipfile.BadZipFile, zlib.error, EOFError, NotImplementedError) as error:
        raise source.fault(f"the compressed file is damaged: {error}") from error


def _member_pieces(
    archive: zipfile.ZipFile, member: zipfile.ZipInfo, source: InputFile, limits: ReadLimits
) -> Iterator[bytes]:
    if member.flag_bits & 0x1:
        raise source.fault(f"{member.filename} is encrypted")
    if member.compress_type not in {zipfile.ZIP_STORED, zipfile.ZIP_DEFLATED}:
        raise source.fault(
            f"{member.filename} uses a compression method that MusicXML does not allow"
        )
    allowed = max(_SMALL, member.compress_size * limits.max_ratio)
    total = 0
    with archive.open(member) as file:
        for piece in _pieces(file):
            total += len(piece)
            if total > allowed:
                raise source.fault(
                    f"{member.filename} unpacks to more than {limits.max_ratio} times its size"
                    " (max_ratio)"
                )
            yield piece


def _score_member(archive: zipfile.ZipFile, source: InputFile) -> zipfile.ZipInfo:
    """Find the score: the first root file that the container names, or the first XML file."""
    by_name = {member.filename: member for member in archive.infolist()}
    named = _named_by_container(archive, by_name.get(_CONTAINER), source)
    if named is not None:
        if named not in by_name:
            raise source.fault(f"the container names {named}, which is not in the file")
        return by_name[named]
    for name, member in by_name.items():
        if not name.startswith("META-INF/") and name.lower().endswith((".musicxml", ".xml")):
            return member
    raise source.fault("the compressed file holds no MusicXML")


def _named_by_container(
    archive: zipfile.ZipFile, container: zipfile.ZipInfo | None, source: InputFile
) -> str | None:
    if container is None:
        return None
    small = ReadLimits(max_bytes=_SMALL)
    pieces = _bounded(_member_pieces(archive, container, source, small), source, small)
    try:
        root = etree.fromstring(b"".join(pieces), etree.XMLParser(**SAFE))
    except etree.XMLSyntaxError as error:
        raise source.fault(f"{_CONTAINER} is not well-formed XML: {error.msg}") from error
    for element in root.iter("{*}rootfile"):
        if path := element.get("full-path"):
            return path
    return None
