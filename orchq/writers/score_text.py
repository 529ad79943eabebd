"""The text of a MusicXML score: where each element stands, and splices into it."""

import re
from collections.abc import Mapping
from copy import copy
from io import BytesIO
from typing import cast
from xml.parsers import expat

from lxml import etree
from msgspec import Struct

from orchq.errors import OrchqError
from orchq.readers.container import SAFE
from orchq.readers.source import Element

_WIDE = {b"\xff\xfe": "utf-16-le", b"\xfe\xff": "utf-16-be"}
"""Encodings of two bytes for each character, by the byte order mark before the text."""
_DECLARED = re.compile(rb"\s*<\?xml[^>]*encoding\s*=\s*[\"']([\w.-]+)[\"']")
_MARK = b"\xef\xbb\xbf"
_CHILDREN = (
    "grace cue chord pitch unpitched rest duration tie instrument footnote level voice type dot"
    " accidental time-modification stem notehead notehead-text staff beam notations lyric play"
    " listen"
)
NOTE_CHILDREN = tuple(_CHILDREN.split())
"""The children of a note in the order of MusicXML 4.0."""
_IN_MUSIC = 3
"""How deep the children of a measure lie, in either order of MusicXML."""


_Path = list[tuple[str, Mapping[str, str], int]]
"""The elements from the root on, each with name, attributes and first byte."""


class Extent(Struct, frozen=True):
    """An element in the text: its name, and the bytes from its first to behind its last."""

    tag: str
    begin: int
    end: int


class _Walk:
    """Walks a text and notes the spans of the elements at one depth."""

    def __init__(self, data: bytes, depth: int, encoding: str | None = None) -> None:
        self._data = data
        self._depth = depth
        self._path: _Path = []
        self._hollow = False
        self.parser = expat.ParserCreate(encoding)
        self.parser.StartElementHandler = self._start
        self.parser.EndElementHandler = self._end
        self.parser.CharacterDataHandler = self._text

    def walk(self) -> None:
        self.parser.ParseFile(BytesIO(self._data))

    def began(self, path: _Path) -> None:
        """Called when an element above the depth begins."""

    def found(self, path: _Path, span: Extent) -> None:
        """Called for each element at the depth."""
        raise NotImplementedError

    def _start(self, name: str, attributes: Mapping[str, str]) -> None:
        self._path.append((name, attributes, self.parser.CurrentByteIndex))
        self._hollow = True
        if len(self._path) <= self._depth:
            self.began(self._path)

    def _text(self, _text: str) -> None:
        self._hollow = False

    def _end(self, name: str) -> None:
        at = self.parser.CurrentByteIndex
        # of an empty element the parser reports the place behind it, of others the closing tag
        closed = self._hollow and self._data[at - 2 : at] == b"/>"
        end = at if closed else self._data.index(b">", at) + 1
        _, _, begin = self._path.pop()
        self._hollow = False
        if len(self._path) == self._depth:
            self.found(self._path, Extent(name, begin, end))


class _Children(_Walk):
    """The children of one element by itself."""

    def __init__(self, data: bytes, encoding: str) -> None:
        super().__init__(data, 1, encoding)
        self.spans: list[Extent] = []

    def found(self, _path: _Path, span: Extent) -> None:
        self.spans.append(span)


class _Music(_Walk):
    """The children of all measures, by part and measure index as the reader counts them."""

    def __init__(self, data: bytes, encoding: str | None) -> None:
        super().__init__(data, _IN_MUSIC, encoding)
        self.spans: dict[str, list[list[Extent]]] = {}
        self.namespaces: dict[str, str] = {}

    def began(self, path: _Path) -> None:
        name, attributes, _ = path[-1]
        if len(path) == 1:
            self.namespaces = {k: v for k, v in attributes.items() if k.startswith("xmlns:")}
        if len(path) == _IN_MUSIC and {name, path[-2][0]} == {"part", "measure"}:
            self.spans.setdefault(_part_of(path), []).append([])

    def found(self, path: _Path, span: Extent) -> None:
        if {path[-1][0], path[-2][0]} == {"part", "measure"}:
            self.spans[_part_of(path)][-1].append(span)


def narrowed(data: bytes) -> tuple[bytes, bytes]:
    """The mark of a text in UTF-16, and the text in UTF-8; of others no mark, and what it was.

    Raises ``UnicodeError`` where the text is not what its mark says.
    """
    mark = data[:2]
    return (mark, data[2:].decode(_WIDE[mark]).encode()) if mark in _WIDE else (b"", data)


def widened(mark: bytes, text: bytes) -> bytes:
    """The text as it was before ``narrowed``."""
    return mark + text.decode().encode(_WIDE[mark]) if mark else text


def _part_of(path: _Path) -> str:
    part = next(attributes for name, attributes, _ in path[1:] if name == "part")
    return part.get("id", "")


class ScoreText:
    """The text of a score with the splices into it.

    ``name`` is the file, for errors. A text in UTF-16 is spliced in UTF-8 and written as it was.
    Raises ``OrchqError`` where the text is not in the encoding that it begins with.
    """

    def __init__(self, data: bytes, name: str) -> None:
        try:
            self._mark, data = narrowed(data)
        except UnicodeError:
            raise OrchqError(f"{name}: it begins as UTF-16 and is not") from None
        self.data = data
        self.name = name
        declared = None if self._mark else _DECLARED.match(data.removeprefix(_MARK))
        self.encoding = declared[1].decode() if declared else "utf-8"
        music = _Music(data, self.encoding if self._mark else None)
        music.walk()
        self._spans = music.spans
        self._namespaces = "".join(f' {k}="{v}"' for k, v in music.namespaces.items())
        self._splices: list[tuple[int, int, bytes]] = []

    def fresh(self) -> "ScoreText":
        """The same text without splices."""
        other = copy(self)
        other.clear()
        return other

    def clear(self) -> None:
        """Forget all splices."""
        self._splices = []

    def measures(self, part: str) -> list[list[Extent]]:
        """The children of each measure of a part (its identifier in the file)."""
        return self._spans.get(part, [])

    def within(self, span: Extent) -> list[Extent]:
        """The children of an element, each with its place in the whole text."""
        children = _Children(self.data[span.begin : span.end], self.encoding)
        children.walk()
        return [Extent(s.tag, span.begin + s.begin, span.begin + s.end) for s in children.spans]

    def in_note(self, note: Extent, name: str) -> int:
        """The place in a note for one more child of this name, behind those it has."""
        after = NOTE_CHILDREN[NOTE_CHILDREN.index(name) + 1 :]
        later = (child.begin for child in self.within(note) if child.tag in after)
        return next(later, self.data.rindex(b"<", note.begin, note.end))

    def element(self, span: Extent) -> Element:
        """An element of the text, parsed by itself."""
        text = self.data[span.begin : span.end].decode(self.encoding)
        wrapped = f"<measure{self._namespaces}>{text}</measure>"
        root = etree.fromstring(wrapped, etree.XMLParser(**SAFE))
        return cast(Element, root[0])

    def written(self, element: Element) -> bytes:
        """An element as it stands in this text."""
        text = etree.tostring(element, encoding="unicode", with_tail=False)
        return self.encoded(text.replace(self._namespaces, "", 1) if self._namespaces else text)

    def encoded(self, text: str) -> bytes:
        """A text in the encoding of the file."""
        return text.encode(self.encoding, "xmlcharrefreplace")

    def indent(self, span: Extent) -> bytes:
        """The end of line and the blanks before an element that begins its line, else nothing."""
        begin = span.begin
        while begin and self.data[begin - 1 : begin] in (b" ", b"\t"):
            begin -= 1
        if self.data[begin - 1 : begin] != b"\n":
            return b""
        return self.data[begin - 1 - (self.data[begin - 2 : begin - 1] == b"\r") : span.begin]

    def insert(self, at: int, text: bytes) -> None:
        """Put a text at a place, behind what was put there before."""
        self._splices.append((at, at, text))

    def replace(self, span: Extent, text: bytes) -> None:
        """Put a text in place of an element; without one the line that it leaves empty goes too."""
        begin, end = span.begin, span.end
        if not text:
            begin -= len(self.indent(span))
        self._splices.append((begin, end, text))

    def spliced(self) -> bytes:
        """The text with all that was put into it; every other byte is as it was."""
        pieces, last = [], 0
        for begin, end, text in sorted(self._splices, key=lambda each: each[:2]):
            pieces += [self.data[last:begin], text]
            last = max(last, end)
        return widened(self._mark, b"".join((*pieces, self.data[last:])))
