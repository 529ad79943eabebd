"""The elements of one part that are changed, each parsed by itself and written back once."""

from collections.abc import Iterable
from typing import NamedTuple

from orchq.readers.source import Element
from orchq.writers.score_text import Extent, ScoreText


class Location(NamedTuple):
    """An element of a part: measure index, and place among the children of the measure."""

    measure: int
    child: int


class MeasureElements:
    """The elements of one part (its identifier in the file), by their places."""

    def __init__(self, text: ScoreText, part: str) -> None:
        self._text = text
        self._measures = text.measures(part)
        self._parsed: dict[Location, Element] = {}
        self._looked_at: dict[Location, Element] = {}
        self._gone: set[Location] = set()
        self._before: dict[Location, list[Element]] = {}
        self._after: dict[Location, list[Element]] = {}

    def spans(self, measure: int) -> list[Extent]:
        """The children of a measure in the text."""
        return self._measures[measure]

    def tag(self, place: Location) -> str:
        """The name of an element."""
        return self._measures[place.measure][place.child].tag

    def get(self, place: Location) -> Element:
        """An element to be changed."""
        if place not in self._parsed:
            span = self._measures[place.measure][place.child]
            self._parsed[place] = self._text.element(span)
        return self._parsed[place]

    def look(self, place: Location) -> Element:
        """An element as it is now, to be read only."""
        return self._parsed[place] if place in self._parsed else self._original(place)

    def _original(self, place: Location) -> Element:
        if place not in self._looked_at:
            span = self._measures[place.measure][place.child]
            self._looked_at[place] = self._text.element(span)
        return self._looked_at[place]

    def put(self, place: Location, element: Element) -> None:
        """Put another element in place of one."""
        self._parsed[place] = element

    def drop(self, place: Location) -> None:
        """Leave an element out."""
        self._gone.add(place)

    def standing(self, places: Iterable[Location]) -> list[Location]:
        """Those of the places whose elements have not been left out, in the order of the file."""
        return sorted(place for place in places if place not in self._gone)

    def precede(self, place: Location, element: Element) -> None:
        """Put a new element before one, behind those put there already."""
        self._before.setdefault(place, []).append(element)

    def follow(self, place: Location, element: Element) -> None:
        """Put a new element behind one, and behind those put there already."""
        self._after.setdefault(place, []).append(element)

    def chord(self, first: Location) -> list[Location]:
        """All heads of the chord that a note begins, those that are not read among them."""
        found = [first]
        spans = self._measures[first.measure]
        for child in range(first.child + 1, len(spans)):
            place = Location(first.measure, child)
            if spans[child].tag != "note":
                if spans[child].tag in {"backup", "forward"}:
                    break
                continue
            if self._original(place).find("chord") is None:
                break
            found.append(place)
        return found

    def slur_numbers(self, measures: Iterable[int]) -> set[str]:
        """The numbers that slurs bear in some measures, as they are now."""
        return {
            slur.get("number") or "1"
            for measure in measures
            for child, span in enumerate(self._measures[measure])
            if span.tag == "note"
            for slur in self.look(Location(measure, child)).iter("slur")
        }

    def voices(self, measure: int) -> set[str]:
        """The names of the voices in a measure."""
        return {
            (self.look(Location(measure, child)).findtext("voice") or "1").strip()
            for child, span in enumerate(self._measures[measure])
            if span.tag == "note"
        }

    def divisions(self, measure: int) -> int | None:
        """The ticks of a quarter note at the start of a measure, where they are a whole number."""
        for index in range(measure, -1, -1):
            for child in range(len(self._measures[index]) - 1, -1, -1):
                if self.tag(Location(index, child)) == "attributes":
                    text = self.look(Location(index, child)).findtext("divisions")
                    if text is not None:
                        return int(text) if text.strip().isdecimal() else None
        return None

    def splice(self) -> None:
        """Put all changes into the text."""
        for place, added in self._before.items():
            span = self._measures[place.measure][place.child]
            for element in added:
                indent = self._text.indent(span)
                self._text.insert(span.begin, self._text.written(element) + indent)
        for place, element in self._parsed.items():
            if place not in self._gone:
                span = self._measures[place.measure][place.child]
                written = self._text.written(element)
                if written != self._text.written(self._text.element(span)):
                    self._text.replace(span, written)
        for place in self._gone:
            self._text.replace(self._measures[place.measure][place.child], b"")
        for place, added in self._after.items():
            span = self._measures[place.measure][place.child]
            for element in added:
                self._text.insert(span.end, self._text.indent(span) + self._text.written(element))
