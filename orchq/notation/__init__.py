"""Pitch, interval and duration arithmetic, independent of the graph."""

from orchq.notation.beats import beat_name
from orchq.notation.letters import letter_name, parse_letters
from orchq.notation.measure_names import measure_name
from orchq.notation.pitch import Pitch

__all__ = ["Pitch", "beat_name", "letter_name", "measure_name", "parse_letters"]
