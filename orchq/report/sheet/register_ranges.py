"""Registers drawn as ranges on the strings, all on one scale of pitch."""

from collections.abc import Sequence

from msgspec import Struct
from msgspec.structs import replace

from orchq.derive.hand import HandModel
from orchq.derive.states import OPEN_STRING
from orchq.errors import OrchqError
from orchq.knowledge import InstrumentString
from orchq.notation import Pitch
from orchq.questions.judging import Hands
from orchq.questions.places import RegisterAnswer
from orchq.report.sheet.sheet_tables import SheetTables
from orchq.report.tables import Table
from orchq.report.wording import one_line

_WIDTH, _LANE, _MARGIN, _HEAD = 260, 7, 8, 14


class RegisterRanges(Struct, frozen=True):
    """The strings as lanes from the open string to the end of the fingerboard.

    ``strings`` stand with the highest first; ``reach`` is in semitones above each; ``opened`` is
    how answers call the technique of open strings.
    """

    strings: Sequence[InstrumentString]
    reach: int
    opened: str

    def scale(self) -> str:
        """The head of the column: the name of each string where its lane begins."""
        names = "".join(
            f'<text x="{self._x(string.pitch.midi):.1f}" y="10">{one_line(string.name, 4)}</text>'
            for string in self.strings
        )
        return f'<svg viewBox="0 0 {_WIDTH} {_HEAD}" aria-hidden="true" class="lanes">{names}</svg>'

    def drawing(self, answer: RegisterAnswer) -> str:
        """A register: a bar on each of its strings, or on all that have its pitches.

        An end that is stated has a mark. One of open strings is a dot on each.
        """
        lowest, highest = (
            None if end is None else Pitch.parse(end).midi
            for end in (answer.lowest, answer.highest)
        )
        parts = []
        for lane, string in enumerate(self.strings):
            first, last = string.pitch.midi, string.pitch.midi + self.reach
            y = _LANE * (lane + 0.5) + 2
            parts.append(
                f'<path class="string" d="M{self._x(first):.1f} {y}H{self._x(last):.1f}"/>'
            )
            if answer.strings and string.name not in answer.strings:
                continue
            if self.opened in answer.heard_with:
                parts.append(f'<circle class="good" cx="{self._x(first):.1f}" cy="{y}" r="3"/>')
                continue
            low = max(first, first if lowest is None else lowest)
            high = min(last, last if highest is None else highest)
            if low > high:
                continue
            x, far = self._x(low), self._x(high)
            parts.append(f'<path class="bar sure" d="M{x:.1f} {y}H{max(far, x + 2):.1f}"/>')
            parts += [
                f'<path class="end sure" d="M{at:.1f} {y - 3}v6"/>'
                for at, end, here in ((x, lowest, low), (far, highest, high))
                if end == here
            ]
        height = _LANE * len(self.strings) + 4
        return (
            f'<svg viewBox="0 0 {_WIDTH} {height}" aria-hidden="true" class="lanes">'
            f"{''.join(parts)}</svg>"
        )

    def _x(self, midi: int) -> float:
        lowest = min(string.pitch.midi for string in self.strings)
        whole = max(string.pitch.midi for string in self.strings) + self.reach - lowest
        return _MARGIN + (_WIDTH - 2 * _MARGIN) * (midi - lowest) / whole


def register_table(content: SheetTables) -> Table:
    """Registers and their characters, called without the name of the instrument."""
    table = content.table("Registers", content.ask.registers(on=content.instrument.iri))
    own = f" of the {one_line(content.instrument.label)}"
    rows = (
        replace(row, cells=(row.cells[0].removesuffix(own), *row.cells[1:])) for row in table.rows
    )
    return replace(table, rows=tuple(rows))


def register_ranges(content: SheetTables) -> RegisterRanges | None:
    """The lanes for an instrument, ``None`` where the graph does not describe its fingerboard."""
    try:
        model: HandModel = Hands(content.ask, content.stand).model(content.instrument)
    except OrchqError:
        return None
    strings = sorted(content.instrument.standard.strings, key=lambda each: each.number)
    opened = content.ask.knowledge.label(OPEN_STRING)
    return RegisterRanges(strings, model.highest_stop, opened)
