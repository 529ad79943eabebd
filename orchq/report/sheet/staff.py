"""Notes on a staff, in clefs that players of the instrument read."""

from collections.abc import Sequence

from msgspec import Struct

from orchq.knowledge import Instrument
from orchq.notation import Pitch
from orchq.report.engraved.few_notes import StaffDef, clef, height, inline, measures, note, score
from orchq.report.engraved.system_drawing import Glyphs

_FEW_LEDGER_LINES = 8
"""Steps from the middle line: two ledger lines."""


class StaffDrawing(Struct, frozen=True):
    """Draws sounding pitches as an instrument reads them; ``clefs`` are sign and line, ``G2``."""

    instrument: Instrument
    clefs: Sequence[str]
    glyphs: Glyphs

    def drawing(self, sounding: Sequence[Pitch]) -> str:
        """An SVG element with the notes one after another; empty where no clef is stated."""
        if not sounding or not self.clefs:
            return ""
        written = [pitch.octaves_up(-self.instrument.octaves_above) for pitch in sounding]
        read = self._read_in(written)
        before = [read[0], *read]
        layer = "".join(
            (clef(name) if name != last else "") + note(pitch, {"dur": "1"})
            for pitch, name, last in zip(written, read, before, strict=False)
        )
        content = f'<staff n="1"><layer n="1">{layer}</layer></staff>'
        return inline(score([StaffDef("", read[0])], measures([content])), self.glyphs)

    def _read_in(self, written: Sequence[Pitch]) -> list[str]:
        """The clef of each note: the one before while few ledger lines are needed."""
        clefs: list[str] = []
        for pitch in written:
            nearest = min(self.clefs, key=lambda each: abs(height(pitch, each)))
            stays = clefs and abs(height(pitch, clefs[-1])) <= _FEW_LEDGER_LINES
            clefs.append(clefs[-1] if stays else nearest)
        return clefs
