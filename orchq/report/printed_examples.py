"""Examples of how things are printed, engraved one below the other."""

from collections.abc import Sequence

from lxml import etree

from orchq.questions.printing import PrintedExample
from orchq.report.engraved.few_notes import StaffDef, engraved, inline, score
from orchq.report.engraved.system_drawing import Glyphs

_SVG = "http://www.w3.org/2000/svg"


def example_inline(example: PrintedExample, glyphs: Glyphs) -> str:
    """Engrave one example as an SVG element for a page that defines the glyphs once."""
    return inline(_score(example), glyphs)


def examples_svg(examples: Sequence[PrintedExample]) -> str:
    """Engrave examples one below the other as one SVG drawing."""
    drawn = [etree.fromstring(engraved(_score(each)).encode()) for each in examples]
    width, top = 0, 0
    whole = etree.fromstring(f'<svg xmlns="{_SVG}"/>')
    for svg in drawn:
        svg.set("y", str(top))
        width = max(width, _pixels(svg.get("width")))
        top += _pixels(svg.get("height"))
        whole.append(svg)
    whole.set("width", f"{width}px")
    whole.set("height", f"{top}px")
    return etree.tostring(whole, encoding="unicode")


def _score(example: PrintedExample) -> str:
    """The example in treble clef."""
    return score([StaffDef("", "G2")] * example.staves, example.measures)


def _pixels(length: str | None) -> int:
    return round(float((length or "0").removesuffix("px")))
