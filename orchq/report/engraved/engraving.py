"""A score engraved, one drawing for each system; events are traced to the notes drawn.

verovio is optional, so it is imported here and only when it is needed.
"""

from collections.abc import Collection, Mapping, Sequence
from dataclasses import dataclass
from importlib.util import find_spec
from pathlib import Path
from typing import Any

from lxml import etree

from orchq.errors import OrchqError
from orchq.knowledge import Knowledge
from orchq.readers.musicxml import read_musicxml_bytes
from orchq.readers.source import Element
from orchq.readers.tree import numbered_tree
from orchq.score import Note

_OPTIONS = {
    "breaks": "auto",
    # Lower than any system, so that each stands on a page of its own, cut to its height.
    "pageHeight": 100,
    "adjustPageHeight": True,
    "pageWidth": 2200,
    "header": "none",
    "footer": "none",
    "svgRemoveXlink": True,
    "svgFormatRaw": True,
    "smuflTextFont": "none",
    "xmlIdSeed": 1,  # the same drawing for the same score
}
MEASURE_ID = "m{}"
"""How the drawings of measures are called, counted from 0."""

_LIBRARIES = ("jinja2", "verovio")


def check_installed() -> None:
    """Refuse at once when a library that the report needs is missing.

    Raises ``OrchqError``.
    """
    if not all(map(find_spec, _LIBRARIES)):
        raise OrchqError(
            "the engraved report needs verovio and Jinja2: pip install 'orchq[report]'"
        )


@dataclass(frozen=True, slots=True)
class Engraving:
    """A score engraved. Systems count from 1, measures from 0.

    ``notes`` holds the notes of every event by its IRI; the ``xml_id`` of a note is the
    identifier of its drawing. ``measures`` are the printed numbers.
    """

    notes: Mapping[str, tuple[Note, ...]]
    measures: Sequence[str]
    systems: int
    _toolkit: Any

    def system_of(self, note: Note) -> int | None:
        """The system that a note stands in, ``None`` if it is not drawn."""
        return self._toolkit.getPageWithElement(note.xml_id) or None

    def svg(self, system: int) -> str:
        """The drawing of a system, as verovio gives it."""
        return str(self._toolkit.renderToSVG(system))


def engrave(path: Path, knowledge: Knowledge, parts: Collection[int]) -> Engraving | None:
    """Engrave the parts with these indices; ``None`` when verovio cannot.

    Raises ``ReadError`` when the file can no longer be read.
    """
    root = numbered_tree(path)
    score = read_musicxml_bytes(etree.tostring(root, encoding="utf-8"), path, knowledge)
    kept = [part for part in score.parts if part.index in parts]
    _keep_parts(root, {part.id for part in kept})
    toolkit = _new_toolkit()
    if not toolkit.loadData(etree.tostring(root, encoding="unicode")):
        return None
    return Engraving(
        notes={event.iri: event.notes for part in kept for event in part.events},
        measures=[measure.number for measure in max((p.measures for p in kept), key=len)],
        systems=toolkit.getPageCount(),
        _toolkit=toolkit,
    )


def _keep_parts(root: Element, names: Collection[str]) -> None:
    for element in (*root.findall("part"), *root.findall("part-list/score-part")):
        holder = element.getparent()
        if holder is not None and (element.get("id") or "") not in names:
            holder.remove(element)
    for part in root.iterfind("part"):
        for index, measure in enumerate(part.iterfind("measure")):
            measure.set("id", MEASURE_ID.format(index))


def _new_toolkit() -> Any:
    verovio = _verovio()
    verovio.enableLog(verovio.LOG_OFF)
    toolkit = verovio.toolkit()
    toolkit.setOptions(_OPTIONS)
    toolkit.setInputFrom("musicxml")
    return toolkit


def text_font() -> str:
    """The style sheet of the font in which verovio writes notes within words."""
    return (Path(_verovio().__file__).parent / "data" / "Leipzig.css").read_text(encoding="utf-8")


def _verovio() -> Any:
    import verovio  # noqa: PLC0415 - heavy, and optional

    return verovio
