"""A score file as one tree of MusicXML in which every note has an identifier."""

from pathlib import Path

from lxml import etree

from orchq.readers.container import SAFE, chunks_in, chunks_of
from orchq.readers.foreign import as_musicxml
from orchq.readers.read_limits import ReadLimits
from orchq.readers.score_formats import MUSICXML, format_of
from orchq.readers.source import Element, InputFile
from orchq.readers.stream import malformed, refuse_entities

NOTE_ID = "n{}"
"""The pattern of note identifiers in a numbered tree, counted from 1 in file order."""


def numbered_tree(path: Path, limits: ReadLimits | None = None) -> Element:
    """Parse a score and give each note its own ``id``; other identifiers are removed.

    The tree is partwise; other formats are converted to MusicXML. ``read_musicxml_bytes`` of it
    yields the same IRIs as ``read_score`` of the file. Raises ``ReadError`` like ``read_score``.
    """
    limits = limits or ReadLimits()
    source = InputFile(str(path))
    if (found := format_of(path)) not in (None, MUSICXML):
        chunks = chunks_in(as_musicxml(path, str(found), source, limits), source, limits)
    else:
        chunks = chunks_of(path, source, limits)
    parser = etree.XMLParser(**SAFE)
    try:
        for chunk in chunks:
            parser.feed(chunk)
        root = parser.close()
    except etree.XMLSyntaxError as error:
        raise malformed(error, source) from error
    refuse_entities(root, source)
    if root.tag == "score-timewise":
        _turn_partwise(root)
    number = 0
    for part in root.iterfind("part"):
        for element in part.iterdescendants():
            if element.tag == "note":
                number += 1
                element.set("id", NOTE_ID.format(number))
            elif "id" in element.attrib:
                del element.attrib["id"]
    return root


def _turn_partwise(root: Element) -> None:
    parts: dict[str, Element] = {}
    for measure in root.findall("measure"):
        for music in measure.findall("part"):
            name = music.get("id") or ""
            if name not in parts:
                parts[name] = etree.Element("part", {"id": name})
            copy = etree.SubElement(parts[name], "measure", number=measure.get("number") or "")
            copy.set("implicit", measure.get("implicit") or "no")
            copy.extend(music)
        root.remove(measure)
    root.tag = "score-partwise"
    root.extend(parts.values())
