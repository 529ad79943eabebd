"""Pitch, interval and duration arithmetic, independent of the graph."""

from orchq.notation.beats import beat_name
from orchq.notation.letters import letter_name, parse_letters
from orchq.notation.measure_names import measure_name
from orchq.notation.pitch import Pitch
from orchq.notation.staff_steps import STEPS, ledger_lines_above, middle_line, step_of

__all__ = [
    "STEPS",
    "Pitch",
    "beat_name",
    "ledger_lines_above",
    "letter_name",
    "measure_name",
    "middle_line",
    "parse_letters",
    "step_of",
]
