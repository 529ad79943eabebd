"""What MEI prints beside its notes: names of staves, words, dynamics, tempi, hairpins.

music21 keeps the notes and slurs of MEI and drops these. They are read here and written into the
MusicXML that it made, at their places in the measure.
"""

import re
from collections import Counter, defaultdict
from collections.abc import Iterator

from lxml import etree
from msgspec import Struct, field

from orchq.exact import Fraction
from orchq.readers.container import SAFE
from orchq.readers.numbers import exact
from orchq.readers.source import Element

_NS = "{http://www.music-encoding.org/ns/mei}"
_ID = "{http://www.w3.org/XML/1998/namespace}id"
_LONG = {"breve": Fraction(8), "long": Fraction(16), "maxima": Fraction(32)}
_DYNAMIC = re.compile(r"p{1,5}|f{1,5}|m[pf]|pf|n|s?f?fz|sfp{0,2}|s?fp|rfz?")
_UNITS = {"1": "whole", "2": "half", "4": "quarter", "8": "eighth", "16": "16th"}
_WEDGES = {"cres": "crescendo", "dim": "diminuendo"}
_KEPT = frozenset({"dir", "dynam", "tempo", "hairpin", "slur", "tie", "staff"})
_SPEAKS = frozenset({"note", "chord", "rest", "space", "mRest", "mSpace", "multiRest"})


class _Place(Struct, frozen=True):
    """A measure by its index, a position in it in quarter notes, and the staff by its number."""

    measure: int
    quarters: Fraction
    staff: str


class Prints(Struct):
    """``names`` are those of the staves in order of their numbers, empty where there is none.

    ``directions`` are MusicXML directions by place in the order of staves and index of measure;
    ``lost`` counts the elements that nobody reads, by name.
    """

    names: list[str] = field(default_factory=list)
    directions: dict[tuple[int, int], list[tuple[Fraction, Element]]] = field(
        default_factory=lambda: defaultdict(list)
    )
    measures: int = 0
    lost: Counter[str] = field(default_factory=Counter)


def simplified(data: bytes) -> tuple[bytes, Prints]:
    """Return MEI that music21 reads with fewer losses, and what has to be added to its MusicXML.

    Articulations that stand as elements become attributes. Raises ``XMLSyntaxError``.
    """
    root = etree.fromstring(data, etree.XMLParser(**SAFE))
    prints = _Reading(root).prints()
    for sign in list(root.iter(f"{_NS}artic")):
        owner = sign.getparent()
        if owner is not None and sign.get("artic") and owner.tag in (f"{_NS}note", f"{_NS}chord"):
            owner.set("artic", f"{owner.get('artic', '')} {sign.get('artic')}".strip())
            owner.remove(sign)
    return etree.tostring(root, encoding="utf-8", xml_declaration=True), prints


def add_prints(root: Element, prints: Prints) -> None:
    """Write names and directions into MusicXML with the same staves and measures."""
    listed, parts = root.findall("part-list/score-part"), root.findall("part")
    if len(listed) == len(prints.names):
        for entry, name in zip(listed, prints.names, strict=True):
            printed = entry.find("part-name")
            if name and printed is not None:
                printed.text = name
    for place, part in enumerate(parts):
        divisions = Fraction(exact(part.findtext("measure/attributes/divisions")) or 1)
        measures = part.findall("measure")
        if len(measures) != prints.measures:
            prints.lost["measure with other counterparts"] += 1
            continue
        for index, measure in enumerate(measures):
            first = measure.find("note")
            at = len(measure) if first is None else list(measure).index(first)
            found = prints.directions.get((place, index), [])
            for quarters, direction in sorted(found, key=lambda each: each[0]):
                offset = etree.SubElement(direction, "offset")
                offset.text = str(round(quarters * divisions))
                measure.insert(at, direction)
                at += 1


class _Reading:
    def __init__(self, root: Element) -> None:
        self._root = root
        self._unit = 4
        self._places: dict[str, _Place] = {}
        self._staves = self._staff_definitions()

    def prints(self) -> Prints:
        prints = Prints([self._name(each) for each in self._staves.values()])
        numbers = list(self._staves)
        wedges = 0
        measures = list(self._root.iter(f"{_NS}measure"))
        prints.measures = len(measures)
        for index, measure in enumerate(measures):
            self._place_notes(index, measure)
        for index, measure in enumerate(measures):
            for event in measure:
                kind = etree.QName(event).localname
                if kind not in _KEPT:
                    prints.lost[kind] += 1
                    continue
                if kind not in ("dir", "dynam", "tempo", "hairpin"):
                    continue
                wedges += kind == "hairpin"
                for place in self._starts(index, event):
                    if place.staff not in numbers:
                        continue
                    staff = numbers.index(place.staff)
                    for where, direction in self._directions(event, kind, place, wedges):
                        prints.directions[staff, where.measure].append((where.quarters, direction))
        return prints

    # ------------------------------------------------------------------ staves

    def _staff_definitions(self) -> dict[str, Element]:
        """The first definition of each staff, wherever it stands, by its number."""
        found: dict[str, Element] = {}
        for definition in self._root.iter(f"{_NS}staffDef"):
            found.setdefault(definition.get("n") or str(len(found) + 1), definition)
        return dict(sorted(found.items(), key=lambda item: (len(item[0]), item[0])))

    def _name(self, definition: Element) -> str:
        """A name in an attribute or a child, of the staff or else of the groups around it."""
        around: Element | None = definition
        while around is not None and around.tag in (f"{_NS}staffDef", f"{_NS}staffGrp"):
            label = around.find(f"{_NS}label")
            told = around.get("label") or ("" if label is None else _text(label))
            for each in () if told else around.iter(f"{_NS}instrDef"):
                told = told or each.get("label") or each.get("midi.instrname") or ""
            if told:
                return told.replace("_", " ")
            around = around.getparent()
        return ""

    # ------------------------------------------------------------------ places

    def _place_notes(self, index: int, measure: Element) -> None:
        before = measure.getprevious()
        while before is not None:
            if before.tag == f"{_NS}scoreDef":
                self._read_unit(before)
                break
            before = None if before.tag == f"{_NS}measure" else before.getprevious()
        if index == 0:
            for definition in self._root.iter(f"{_NS}scoreDef"):
                self._read_unit(definition)
                break
        for staff in measure.iterfind(f"{_NS}staff"):
            for layer in staff.iterfind(f"{_NS}layer"):
                self._walk(layer, index, staff.get("n") or "1", Fraction(0), Fraction(1))

    def _read_unit(self, definition: Element) -> None:
        sign = definition.find(f".//{_NS}meterSig")
        unit = definition.get("meter.unit") or (sign.get("unit") if sign is not None else None)
        if unit and unit.isdecimal():
            self._unit = int(unit) or 4

    def _walk(
        self, inside: Element, measure: int, staff: str, at: Fraction, ratio: Fraction
    ) -> Fraction:
        """Note where everything begins, and return where it ends."""
        for element in inside:
            kind = etree.QName(element).localname
            identifier = element.get(_ID)
            if identifier:
                self._places[identifier] = _Place(measure, at, staff)
            if kind in _SPEAKS:
                heads = (head.get(_ID) for head in element.iter(f"{_NS}note"))
                self._places.update((head, _Place(measure, at, staff)) for head in heads if head)
                at += _length(element) * ratio
            elif kind == "tuplet":
                num, base = (exact(element.get(name)) for name in ("num", "numbase"))
                within = Fraction(base) / num if num and base else Fraction(1)
                at = self._walk(element, measure, staff, at, ratio * within)
            elif kind in ("beam", "graceGrp", "fTrem", "bTrem"):
                at = self._walk(element, measure, staff, at, ratio)
        return at

    def _starts(self, index: int, event: Element) -> Iterator[_Place]:
        named = self._places.get((event.get("startid") or "").removeprefix("#"))
        staves = (event.get("staff") or (named.staff if named else "1")).split()
        for staff in staves:
            if named is not None:
                yield _Place(named.measure, named.quarters, staff)
            else:
                yield _Place(index, self._beat(event.get("tstamp")), staff)

    def _beat(self, stamp: str | None) -> Fraction:
        beat = exact(stamp) if stamp else None
        return max((Fraction(beat or 1) - 1) * 4 / self._unit, Fraction(0))

    def _ends(self, event: Element, place: _Place) -> _Place | None:
        named = self._places.get((event.get("endid") or "").removeprefix("#"))
        if named is not None:
            return _Place(named.measure, named.quarters, place.staff)
        measures, mark, beat = (event.get("tstamp2") or "").partition("m+")
        if not mark:
            measures, beat = "0", measures
        if not measures.isdecimal() or not beat:
            return None
        return _Place(place.measure + int(measures), self._beat(beat), place.staff)

    # -------------------------------------------------------------- directions

    def _directions(
        self, event: Element, kind: str, place: _Place, number: int
    ) -> Iterator[tuple[_Place, Element]]:
        if kind == "hairpin":
            end, form = self._ends(event, place), _WEDGES.get(event.get("form") or "")
            if end is not None and form:
                label = str(number % 16 + 1)
                yield place, _direction("wedge", type=form, number=label)
                yield end, _direction("wedge", type="stop", number=label)
            return
        text = _text(event)
        if kind == "dynam" and _DYNAMIC.fullmatch(text):
            direction = _direction("dynamics")
            etree.SubElement(direction[0][0], text)
            yield place, direction
            return
        if text:
            yield place, _direction("words", text)
        unit, figure = _UNITS.get(event.get("mm.unit") or ""), exact(event.get("mm") or "")
        if kind == "tempo" and unit and figure:
            direction = _direction("metronome")
            etree.SubElement(direction[0][0], "beat-unit").text = unit
            for _ in range(_dots(event, "mm.dots")):
                etree.SubElement(direction[0][0], "beat-unit-dot")
            etree.SubElement(direction[0][0], "per-minute").text = event.get("mm")
            yield place, direction


def _length(element: Element) -> Fraction:
    """The written length in quarter notes; grace notes and whole measures count as none."""
    if element.get("grace") is not None:
        return Fraction(0)
    value = element.get("dur") or ""
    length = _LONG.get(value) or (
        Fraction(4, int(value)) if value.isdecimal() and int(value) else Fraction(0)
    )
    dots = _dots(element, "dots") or len(element.findall(f"{_NS}dot"))
    return length * (2 - Fraction(1, 2**dots))


def _dots(element: Element, name: str) -> int:
    dots = element.get(name) or ""
    return min(int(dots), 4) if dots.isdecimal() else 0


def _direction(kind: str, text: str | None = None, **attributes: str) -> Element:
    direction = etree.Element("direction")
    printed = etree.SubElement(etree.SubElement(direction, "direction-type"), kind, attributes)
    printed.text = text
    return direction


def _text(element: Element) -> str:
    return " ".join("".join(map(str, element.itertext())).split())
