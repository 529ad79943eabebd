"""The drawing of a system made small and inert, with marks at the notes concerned.

verovio's drawing holds text of the score. Only elements and attributes that are listed here are
written anew, with values that can neither name an address nor run anything.
"""

import re
from collections.abc import Iterable, Mapping, Sequence
from html import escape

from lxml import etree
from msgspec import Struct, field

from orchq.inputs import without_controls
from orchq.readers.container import SAFE
from orchq.readers.source import Element
from orchq.report.engraved.labels import Box, Label, LabelLayout

_ATTRIBUTES: Mapping[str, tuple[str, ...]] = {
    "g": ("transform",),
    "path": ("d", "stroke-width", "stroke-linecap", "stroke-linejoin", "stroke-dasharray", "fill"),
    "polyline": ("points", "stroke-width", "stroke-linecap", "stroke-linejoin", "fill"),
    "polygon": ("points", "stroke-width", "stroke-linejoin", "fill"),
    "rect": ("x", "y", "width", "height", "rx", "stroke-width", "fill"),
    "ellipse": ("cx", "cy", "rx", "ry", "stroke-width", "fill"),
    "circle": ("cx", "cy", "r", "stroke-width", "fill"),
    "text": ("x", "y", "text-anchor", "font-size", "font-style", "font-weight"),
    "tspan": (
        *("x", "y", "dx", "dy", "text-anchor", "font-size", "font-style", "font-weight"),
        *("font-family", "baseline-shift", "textLength", "lengthAdjust"),
    ),
}
_PLAIN = re.compile(r"[\w\s.,%()+-]*")
_LINE = re.compile(r"M(-?\d+) (-?\d+) L(-?\d+) (-?\d+)")
_USE = re.compile(r"translate\((-?\d+), ?(-?\d+)\) scale\((-?[\d.]+), ?(-?[\d.]+)\)")
_GLYPH = re.compile(r"#(\w+)-\w+")
_WORDS = frozenset({"tempo", "dir", "dynam", "mNum", "fing", "reh", "ending"})
"""Classes that are styled by the page."""

_FONT = "Leipzig"


class Glyphs(Struct):
    """The signs that drawings of one page share; ``needs_font`` when words hold signs too."""

    defined: dict[str, str] = field(default_factory=dict)
    needs_font: bool = False

    def definitions(self) -> str:
        """The definitions to stand once on the page."""
        return "".join(self.defined.values())


class Drawing(Struct, frozen=True):
    """An SVG element, the measures that it shows in their order, and the findings it labels.

    Measures and findings are named by their identifiers.
    """

    svg: str
    measures: tuple[str, ...]
    labelled: frozenset[str]


def draw(svg: str, labels: Mapping[str, Sequence[Label]], prefix: str, glyphs: Glyphs) -> Drawing:
    """Return a drawing of verovio's with labels at notes, which are named by identifier.

    The gravest label of a note comes first. ``prefix`` and a hyphen go before the identifiers of
    notes, since files may share a page.
    """
    root = etree.fromstring(svg.encode(), etree.XMLParser(**SAFE))
    return _Drawer(labels, prefix, glyphs).draw(root)


class _Drawer:
    def __init__(self, labels: Mapping[str, Sequence[Label]], prefix: str, glyphs: Glyphs) -> None:
        self._labels = labels
        self._prefix = prefix
        self._glyphs = glyphs
        self._outlines: dict[str, str] = {}
        self._measures: list[str] = []
        self._marks = LabelLayout()
        self._staff_top = 0

    def draw(self, root: Element) -> Drawing:
        for glyph in root.iterfind("{*}defs/{*}g"):
            outline = glyph.find("{*}path")
            if outline is not None:
                self._outlines[glyph.get("id") or ""] = outline.get("d") or ""
        scaled = root.find("{*}svg")
        assert scaled is not None
        margin = scaled.find("{*}g")
        assert margin is not None
        left, top = map(int, re.findall(r"\d+", margin.get("transform") or "0 0"))
        _, _, width, height = map(int, (scaled.get("viewBox") or "0 0 0 0").split())
        content = self._content(margin)
        labels, highest = self._marks.laid()
        above = min(0, highest + top - 60)
        return Drawing(
            f'<svg class="music" viewBox="0 {above} {width} {height - above}" role="group"'
            f' aria-label="Score"><g transform="translate({left} {top})">{content}'
            f"{labels}</g></svg>",
            tuple(self._measures),
            frozenset(self._marks.names),
        )

    # -------------------------------------------------------------------- elements

    def _content(self, element: Element) -> str:
        """What an element holds; straight lines of the same width become one path."""
        lines: dict[str, list[str]] = {}
        written = list(self._children(element, lines))
        return "".join((*(_path(width, ds) for width, ds in lines.items()), *written))

    def _children(self, element: Element, lines: dict[str, list[str]]) -> Iterable[str]:
        for child in element:
            tag = etree.QName(child).localname
            classes = (child.get("class") or "").split()
            if tag == "g" and "placeholder" not in classes:
                yield from self._group(child, classes, lines)
            elif tag == "use":
                yield self._use(child)
            elif tag == "path" and _is_line(child):
                width = child.get("stroke-width") or "1"
                lines.setdefault(width, []).append(_short(child.get("d") or ""))
            elif tag == "text":
                if any(text.strip() for text in child.itertext()):
                    yield f"<text{_attributes(child)}>{self._text(child)}</text>"
            elif tag in _ATTRIBUTES and tag not in {"g", "tspan"}:
                yield f"<{tag}{_attributes(child)}/>"

    def _group(
        self, group: Element, classes: list[str], lines: dict[str, list[str]]
    ) -> Iterable[str]:
        name = group.get("id") or ""
        if "measure" in classes:
            self._measures.append(name)
        elif "staff" in classes:
            self._staff_top = _top_of(group.iterchildren("{*}path"), self._staff_top)
        if "note" in classes and name in self._labels:
            yield self._marked(group, self._labels[name])
        elif styled := _WORDS.intersection(classes):
            for room in _rooms(group):
                self._marks.avoid(room)
            yield f'<g class="{min(styled)}">{self._content(group)}</g>'
        elif group.get("transform"):
            yield f"<g{_attributes(group)}>{self._content(group)}</g>"
        else:
            yield from self._children(group, lines)

    def _use(self, use: Element) -> str:
        name, place = _GLYPH.fullmatch(use.get("href") or ""), _USE.fullmatch(_placed(use))
        if name is None or place is None:
            return ""
        x, y, scale, upward = place.groups()
        known = f"{name[1]}-{scale}"
        if known not in self._glyphs.defined:
            outline = self._outlines.get(name[0][1:], "")
            if not _PLAIN.fullmatch(outline):
                return ""
            self._glyphs.defined[known] = (
                f'<path id="{known}" transform="scale({scale} -{upward})" d="{outline}"/>'
            )
        return f'<use href="#{known}" x="{x}" y="{y}"/>'

    def _text(self, element: Element) -> str:
        """The words within a text element, without what could reverse or hide others."""
        written = [_words(element.text)]
        for child in element:
            if etree.QName(child).localname == "tspan":
                self._glyphs.needs_font |= child.get("font-family") == _FONT
                attributes, words = _attributes(child), self._text(child)
                written.append(f"<tspan{attributes}>{words}</tspan>" if attributes else words)
            written.append(_words(child.tail))
        return "".join(written)

    # ----------------------------------------------------------------------- notes

    def _marked(self, note: Element, labels: Sequence[Label]) -> str:
        """A note with a ring about its head; its labels stand above the staff or the chord.

        Of a note without a head the stem is ringed; where nothing is drawn there is no label.
        """
        head = _head_of(note)
        names = " ".join(label.name for label in labels)
        gravest = labels[0].severity
        ring = ""
        if head is not None:
            chord = note.getparent()
            around = chord if chord is not None and chord.get("class") == "chord" else note
            self._marks.add(labels, head, min(_top_of([around], head.top), self._staff_top))
            ring = head.ring()
        return (
            f'<g class="noted {gravest}" id="{self._prefix}-{note.get("id")}"'
            f' data-findings="{names}">{self._content(note)}{ring}</g>'
        )


def _rooms(words: Element) -> Iterable[Box]:
    """Where words and signs of dynamics stand."""
    for text in words.iter("{*}text"):
        x, y = text.get("x") or "", text.get("y") or ""
        if x.isdecimal() and y.isdecimal():
            letters = sum(map(len, text.itertext()))
            yield Box.of_words(int(x), int(y), letters, text.get("text-anchor"))
    for sign in words.iterfind("{*}use"):
        if place := _USE.fullmatch(_placed(sign)):
            yield Box.of_words(int(place[1]), int(place[2]), 2, None)


def _head_of(note: Element) -> Box | None:
    for sign in note.iterfind("{*}g[@class='notehead']/{*}use"):
        if place := _USE.fullmatch(_placed(sign)):
            return Box.about_head(int(place[1]), int(place[2]), float(place[3]))
    for line in note.iter("{*}path"):
        if ends := _LINE.fullmatch(line.get("d") or ""):
            return Box.about_point(int(ends[1]), int(ends[2]))
    return None


def _placed(use: Element) -> str:
    return use.get("transform") or ""


def _attributes(element: Element) -> str:
    """The listed attributes whose values are plain."""
    allowed = _ATTRIBUTES[etree.QName(element).localname]
    return "".join(
        f' {name}="{value}"'
        for name in allowed
        if (value := element.get(name)) is not None
        and _PLAIN.fullmatch(value)
        and (name != "font-family" or value == _FONT)
    )


def _words(text: str | None) -> str:
    return escape(without_controls(text or ""))


def _is_line(path: Element) -> bool:
    return set(path.attrib) <= {"d", "stroke-width"} and bool(_LINE.fullmatch(path.get("d") or ""))


def _short(line: str) -> str:
    return _LINE.sub(
        lambda found: (
            f"M{found[1]} {found[2]}"
            + (
                f"H{found[3]}"
                if found[2] == found[4]
                else f"V{found[4]}"
                if found[1] == found[3]
                else f"L{found[3]} {found[4]}"
            )
        ),
        line,
    )


def _path(width: str, lines: list[str]) -> str:
    return f'<path d="{"".join(lines)}" stroke-width="{width}"/>' if _PLAIN.fullmatch(width) else ""


def _top_of(elements: Iterable[Element], otherwise: int) -> int:
    """The highest place that straight lines and signs of these elements reach."""
    places = [
        int(place)
        for element in elements
        for child in element.iter("{*}path", "{*}use")
        for place in _heights(child)
    ]
    return min(places, default=otherwise)


def _heights(element: Element) -> Iterable[str]:
    if place := _USE.fullmatch(_placed(element)):
        return (place[2],)
    line = _LINE.fullmatch(element.get("d") or "")
    return (line[2], line[4]) if line else ()
