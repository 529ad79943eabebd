"""Pitch, interval and duration arithmetic; knows no graph."""

from orchq.notation.pitch import Pitch

__all__ = ["Pitch"]
