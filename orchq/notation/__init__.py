"""Pitch, interval and duration arithmetic; knows no graph."""

from orchq.notation.beats import beat_name
from orchq.notation.measures import measure_name
from orchq.notation.pitch import Pitch

__all__ = ["Pitch", "beat_name", "measure_name"]
