"""Reads parts that are not checked, for their tempo marks only.

In an orchestral score the tempo stands above the topmost part alone, which is a flute.
"""

from collections.abc import Sequence
from itertools import accumulate

from lxml import etree

from orchq.exact import Fraction
from orchq.readers.directions import Direction
from orchq.readers.marks import Marks
from orchq.readers.measures import Shared
from orchq.readers.numbers import exact
from orchq.readers.source import Element
from orchq.score import Mark

_MAY_TELL_TEMPO = etree.XPath(
    "boolean(direction/direction-type/metronome | direction/direction-type/words"
    " | direction/sound/@tempo | sound/@tempo)"
)


class SkippedPart:
    """Searches the measures of a part for marks that set a tempo."""

    def __init__(self, iri: str, shared: Shared) -> None:
        self._shared = shared
        self._marks = Marks(iri)
        self._divisions = Fraction(1)
        self._count = 0

    def read_measure(self, element: Element, content: Element) -> None:
        """Search a measure; ``element`` has its number."""
        self._shared.count_measure(element)
        index = self._count
        self._count += 1
        for divisions in content.iterfind("attributes/divisions"):
            self._divisions = Fraction(exact(divisions.text) or 1)
        if not _MAY_TELL_TEMPO(content):
            return
        place = Fraction(0)
        for child in content:
            if child.tag in {"direction", "sound"}:
                self._take(child, place)
            elif child.tag in {"note", "backup", "forward"}:
                place = max(place + self._moved(child), Fraction(0))
        number = (element.get("number") or "").strip() or str(index + 1)
        self._marks.end_measure(index, number, Fraction(0), [], set())

    def marks(self, lengths: Sequence[Fraction]) -> list[Mark]:
        """The tempo marks, placed by the lengths that measures have in the checked parts."""
        onsets = [Fraction(0), *accumulate(lengths)]
        return [
            Mark(
                iri=mark.iri,
                measure_index=mark.measure_index,
                measure_number=mark.measure_number,
                offset=mark.offset,
                onset=onsets[min(mark.measure_index, len(lengths))] + mark.offset,
                directives=mark.directives,
                text=mark.text,
                tempo=mark.tempo,
            )
            for mark in self._marks.found
        ]

    def _take(self, element: Element, place: Fraction) -> None:
        if element.tag == "direction":
            direction = self._shared.directions.read(element)
        else:
            direction = Direction()
            self._shared.directions.add_sound(direction, element)
        signs = self._shared.signs
        direction.wedges.clear()
        direction.marks = [
            mark
            for mark in direction.marks
            if mark.tempo is not None or any("TempoWord" in signs.kinds(d) for d in mark.directives)
        ]
        self._marks.add(direction, place, Fraction(direction.offset) / self._divisions)

    def _moved(self, element: Element) -> Fraction:
        if element.find("chord") is not None or element.find("grace") is not None:
            return Fraction(0)
        moved = Fraction(exact(element.findtext("duration")) or 0) / self._divisions
        return -moved if element.tag == "backup" else moved
