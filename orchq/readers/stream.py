"""Parses XML into measures, one at a time, for both orders of MusicXML."""

import re
from collections.abc import Iterable, Iterator
from typing import Literal, cast

from lxml import etree
from msgspec import Struct

from orchq.errors import ReadError
from orchq.readers.container import SAFE
from orchq.readers.read_limits import ReadLimits
from orchq.readers.source import Element, InputFile

_POSITION = re.compile(r", line \d+, column \d+$")
_TAGS = ("score-partwise", "score-timewise", "part-list", "part", "measure")


class StreamItem(Struct, frozen=True):
    """The next step in the file.

    ``kind`` is ``header`` (``element`` is the root, read up to the list of parts), ``part``
    (a part begins; in a timewise score it begins with its first measure) or ``measure``.
    ``content`` holds the music of a measure, ``element`` its number.
    """

    kind: Literal["header", "part", "measure"]
    element: Element
    content: Element
    part_id: str = ""


def steps_of(
    chunks: Iterable[bytes], source: InputFile, limits: ReadLimits
) -> Iterator[StreamItem]:
    """Parse the file and yield its steps; a measure is emptied once the next is asked for.

    Raises ``ReadError`` for a file that is not well-formed MusicXML, declares entities, nests too
    deeply or repeats a part.
    """
    parser = etree.XMLPullParser(events=("start", "end"), tag=_TAGS, **SAFE)
    walker = _Walker(source, limits)
    try:
        for chunk in chunks:
            parser.feed(chunk)
            for event, element in parser.read_events():
                yield from walker.take(event, cast(Element, element))
        root = parser.close()
    except etree.XMLSyntaxError as error:
        raise malformed(error, source) from error
    walker.finish(root)


def malformed(error: etree.XMLSyntaxError, source: InputFile) -> ReadError:
    """The error for a file that is not well-formed XML."""
    empty = error.msg == "no element found"
    # The parser repeats where it stands, which the error names by itself.
    why = _POSITION.sub("", error.msg or "")
    what = "is empty" if empty else f"not well-formed XML: {why}"
    return source.fault(what, error.lineno)


def refuse_entities(root: Element, source: InputFile) -> None:
    """Refuse entities that the file declares: in a score they only serve attacks.

    Raises ``ReadError`` when there are any.
    """
    subset = root.getroottree().docinfo.internalDTD  # None, or a DTD
    if getattr(subset, "entities", list)():
        raise source.fault("the file declares XML entities, which are not read", root)


class _Walker:
    def __init__(self, source: InputFile, limits: ReadLimits) -> None:
        self._source = source
        self._too_deep = etree.XPath("boolean(" + "/".join("*" * limits.max_depth) + ")")
        self._max_depth = limits.max_depth
        self._root: Element | None = None
        self._timewise = False
        self._part: str | None = None
        self._measure: Element | None = None
        self._parts: set[str] = set()

    def take(self, event: str, element: Element) -> Iterator[StreamItem]:
        tag = element.tag
        if event == "start":
            yield from self._start(element)
        elif tag == "part-list" and element.getparent() is self._root:
            yield StreamItem("header", self._root_or(element), element)
        elif tag == ("part" if self._timewise else "measure"):
            yield from self._music(element)
        elif tag == "measure" and self._timewise:
            self._measure = None
            _empty(element)

    def finish(self, root: Element) -> None:
        if self._root is None:
            raise self._source.fault(
                f"the root element is <{root.tag}>, not a MusicXML score", root
            )
        if not self._parts:
            raise self._source.fault("the score has no part", root)

    def _start(self, element: Element) -> Iterator[StreamItem]:
        parent = element.getparent()
        if parent is None and element.tag in {"score-partwise", "score-timewise"}:
            self._root = element
            self._timewise = element.tag == "score-timewise"
            refuse_entities(element, self._source)
        elif element.tag == "part" and not self._timewise and parent is self._root:
            self._part = self._new_part(element)
            yield StreamItem("part", element, element, self._part)
        elif element.tag == "measure" and self._timewise and parent is self._root:
            self._measure = element

    def _music(self, element: Element) -> Iterator[StreamItem]:
        """Handle the end of a measure; one outside any part is ignored."""
        if self._too_deep(element):
            raise self._source.fault(
                f"elements nest deeper than {self._max_depth} levels (max_depth)", element
            )
        parent = element.getparent()
        if self._timewise:
            if parent is not self._measure or parent is None:
                return
            part = element.get("id") or ""
            if part not in self._parts:
                self._parts.add(part)
                yield StreamItem("part", element, element, part)
            yield StreamItem("measure", parent, element, part)
        else:
            if self._part is None or parent is None or parent.getparent() is not self._root:
                return
            yield StreamItem("measure", element, element, self._part)
        _empty(element)

    def _new_part(self, element: Element) -> str:
        part = element.get("id") or ""
        if part in self._parts:
            raise self._source.fault(f"part {part!r} appears twice", element)
        self._parts.add(part)
        return part

    def _root_or(self, element: Element) -> Element:
        return self._root if self._root is not None else element


def _empty(element: Element) -> None:
    """Free what has been read; the text behind the element may still be incomplete."""
    element.clear(keep_tail=True)  # type: ignore[call-arg]  # missing in lxml-stubs
