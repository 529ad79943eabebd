"""A few notes in MEI, and their engraving; for music of the graph's own and never for a score's.

What is engraved here comes from facts and from pitches that were read as such, so that verovio
needs no process of its own.
"""

import re
from collections.abc import Mapping, Sequence
from functools import lru_cache
from html import escape
from typing import Any

from msgspec import Struct

from orchq.errors import OrchqError
from orchq.notation import Pitch, middle_line, step_of
from orchq.report.engraved.system_drawing import Glyphs, draw
from orchq.report.web import check_installed

_OPTIONS = {
    "adjustPageHeight": True,
    "adjustPageWidth": True,
    "breaks": "none",
    "header": "none",
    "footer": "none",
    "pageMarginTop": 20,
    "pageMarginBottom": 20,
    "pageMarginLeft": 20,
    "pageMarginRight": 20,
    "spacingLinear": 0.18,
    "svgRemoveXlink": True,
    "svgFormatRaw": True,
    "xmlIdSeed": 1,  # the same drawing for the same music
}
_VIEW = re.compile(r'viewBox="0 -?\d+ (\d+) (\d+)"')
_UNITS = 28
"""Units of a drawing in one pixel of the page, the same on every staff."""
_SIGNS = {-2: "ff", -1: "f", 1: "s", 2: "x"}


class StaffDef(Struct, frozen=True):
    """One staff: its name, and the clef at its beginning as sign and line (``G2``)."""

    label: str
    clef: str


def note(pitch: Pitch, attributes: Mapping[str, str], content: str = "") -> str:
    """A note in MEI with further attributes, and with what belongs to it as content."""
    step, alter, octave = pitch.spelling
    given = {"pname": step.lower(), "oct": str(octave), **attributes}
    if alter:
        given["accid"] = _SIGNS[alter]
    return f"<note{_written(given)}>{content}</note>"


def clef(name: str) -> str:
    """A clef within a staff, called by sign and line."""
    return f'<clef shape="{name[0]}" line="{name[1]}"/>'


def words(text: str, staff: int, place: str = "above") -> str:
    """Words at the beginning of a measure."""
    return f'<dir staff="{staff}" tstamp="1" place="{place}">{escape(text)}</dir>'


def height(pitch: Pitch, clef_name: str) -> int:
    """Steps of a pitch above the middle line of a staff with this clef."""
    middle = middle_line(clef_name)
    assert middle is not None
    return step_of(pitch) - middle


def measures(contents: Sequence[str]) -> str:
    """Measures with these contents, the last one closed."""
    last = len(contents)
    return "".join(
        f'<measure n="{number}"{_written({"right": "end"} if number == last else {})}>{each}'
        "</measure>"
        for number, each in enumerate(contents, start=1)
    )


def score(staves: Sequence[StaffDef], section: str) -> str:
    """An MEI document with these measures, without time signature."""
    defined = "".join(
        f'<staffDef n="{number}" lines="5" clef.shape="{each.clef[0]}"'
        f' clef.line="{each.clef[1]}"><label>{escape(each.label)}</label></staffDef>'
        for number, each in enumerate(staves, start=1)
    )
    return (
        '<mei xmlns="http://www.music-encoding.org/ns/mei" meiversion="5.0"><meiHead><fileDesc>'
        "<titleStmt><title/></titleStmt><pubStmt/></fileDesc></meiHead><music><body><mdiv><score>"
        f"<scoreDef><staffGrp>{defined}</staffGrp></scoreDef><section>{section}</section>"
        "</score></mdiv></body></music></mei>"
    )


def inline(mei: str, glyphs: Glyphs) -> str:
    """Engrave an MEI document as an SVG element for a page that defines the glyphs once."""
    svg = draw(engraved(mei), {}, "staff", glyphs).svg
    return _VIEW.sub(_sized, svg, count=1)


def _sized(view: re.Match[str]) -> str:
    width, height = (round(int(side) / _UNITS) for side in view.groups())
    return f'{view[0]} width="{width}" height="{height}"'


def engraved(mei: str) -> str:
    """Engrave an MEI document as one SVG drawing.

    Raises ``OrchqError`` when verovio is not installed, or cannot read the document.
    """
    check_installed()
    toolkit = _toolkit()
    if not toolkit.loadData(mei):
        raise OrchqError("verovio cannot read the music")
    return str(toolkit.renderToSVG(1))


@lru_cache(maxsize=1)
def _toolkit() -> Any:
    import verovio  # noqa: PLC0415 - heavy, optional

    verovio.enableLog(verovio.LOG_OFF)
    toolkit = verovio.toolkit()
    toolkit.setOptions(_OPTIONS)
    toolkit.setInputFrom("mei")
    return toolkit


def _written(attributes: Mapping[str, str]) -> str:
    return "".join(f' {name}="{escape(value)}"' for name, value in attributes.items())
