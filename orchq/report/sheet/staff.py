"""Notes on a staff, in clefs that players of the instrument read, engraved by verovio.

Nothing but pitches gets there, so that verovio needs no process of its own here.
"""

import re
from collections.abc import Sequence
from dataclasses import dataclass
from functools import cached_property
from typing import Any

from lxml import etree

from orchq.knowledge import Instrument
from orchq.notation import Pitch
from orchq.readers.source import Element
from orchq.report.engraved.system_drawing import Glyphs, draw

_STEPS = "CDEFGAB"
_SIGN_PITCH = {"G": (4, 4), "F": (3, 3), "C": (0, 4)}
"""Step and octave of the line on which the sign of a clef stands: G4, F3 and C4."""
_ACCIDENTALS = {"#": "sharp", "##": "double-sharp", "b": "flat", "bb": "flat-flat"}
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
    "spacingLinear": 0.12,
    "svgRemoveXlink": True,
    "svgFormatRaw": True,
    "xmlIdSeed": 1,
}
_VIEW = re.compile(r'viewBox="0 -?\d+ (\d+) (\d+)"')
_FEW_LEDGER_LINES = 8
"""Steps from the middle line: two ledger lines."""
_UNITS = 28
"""Units of a drawing in one pixel of the page, the same on every staff."""


@dataclass
class StaffDrawing:
    """Draws sounding pitches as an instrument reads them; ``clefs`` are sign and line, ``G2``."""

    instrument: Instrument
    clefs: Sequence[str]
    glyphs: Glyphs

    def drawing(self, sounding: Sequence[Pitch]) -> str:
        """An SVG element with the notes one after another; empty where no clef is stated."""
        if not sounding or not self.clefs:
            return ""
        written = [pitch.octaves_up(-self.instrument.octaves_above) for pitch in sounding]
        score = _score(written, self._read_in(written))
        self._toolkit.loadData(etree.tostring(score, encoding="unicode"))
        svg = draw(self._toolkit.renderToSVG(1), {}, "staff", self.glyphs).svg
        return _VIEW.sub(_sized, svg, count=1)

    def _read_in(self, written: Sequence[Pitch]) -> list[str]:
        """The clef of each note: the one before while few ledger lines are needed."""
        clefs: list[str] = []
        for pitch in written:
            nearest = min(self.clefs, key=lambda each: abs(_height(pitch, each)))
            stays = clefs and abs(_height(pitch, clefs[-1])) <= _FEW_LEDGER_LINES
            clefs.append(clefs[-1] if stays else nearest)
        return clefs

    @cached_property
    def _toolkit(self) -> Any:
        import verovio  # noqa: PLC0415 - heavy, optional

        verovio.enableLog(verovio.LOG_OFF)
        toolkit = verovio.toolkit()
        toolkit.setOptions(_OPTIONS)
        toolkit.setInputFrom("musicxml")
        return toolkit


def _sized(view: re.Match[str]) -> str:
    width, height = (round(int(side) / _UNITS) for side in view.groups())
    return f'{view[0]} width="{width}" height="{height}"'


def _parts(pitch: Pitch) -> tuple[str, str, int]:
    """Step, alteration as in the name, and octave."""
    step, rest = pitch.name[0], pitch.name[1:]
    signs = rest.rstrip("-0123456789")
    return step, signs, int(rest.removeprefix(signs))


def _height(pitch: Pitch, clef: str) -> int:
    """Steps above the middle line of the staff."""
    step, _, octave = _parts(pitch)
    sign, line = clef[0], int(clef[1])
    sign_step, sign_octave = _SIGN_PITCH[sign]
    middle = sign_step + 7 * sign_octave + 2 * (3 - line)
    return _STEPS.index(step) + 7 * octave - middle


def _score(pitches: Sequence[Pitch], clefs: Sequence[str]) -> Element:
    """One measure of whole notes in MusicXML, with the clef of each."""
    score = etree.Element("score-partwise", version="4.0")
    listed = _within(_within(score, "part-list"), "score-part", id="P1")
    _within(listed, "part-name")
    measure = _within(_within(score, "part", id="P1"), "measure", number="1")
    attributes = _within(measure, "attributes")
    _within(attributes, "divisions", "1")
    time = _within(attributes, "time", **{"print-object": "no"})
    _within(time, "beats", str(4 * len(pitches)))
    _within(time, "beat-type", "4")
    before = ""
    for pitch, clef in zip(pitches, clefs, strict=True):
        if clef != before:
            sign = _within(_within(measure, "attributes") if before else attributes, "clef")
            _within(sign, "sign", clef[0])
            _within(sign, "line", clef[1])
            before = clef
        step, signs, octave = _parts(pitch)
        note = _within(measure, "note")
        sounding = _within(note, "pitch")
        _within(sounding, "step", step)
        _within(sounding, "alter", str(signs.count("#") - signs.count("b")))
        _within(sounding, "octave", str(octave))
        _within(note, "duration", "4")
        _within(note, "type", "whole")
        if signs:
            _within(note, "accidental", _ACCIDENTALS[signs])
    return score


def _within(parent: Element, name: str, text: str = "", **attributes: str) -> Element:
    child = etree.SubElement(parent, name, attributes)
    child.text = text or None
    return child
