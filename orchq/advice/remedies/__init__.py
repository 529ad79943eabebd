"""The remedies of the graph, worked out; importing the modules here registers them."""

from orchq.advice.case import REMEDIES
from orchq.advice.remedies import (
    bowing,
    chords,
    colours,
    harmonics,
    loudness,
    notes,
    plucking,
    sharing,
    signs,
    strings,
)

__all__ = [
    "REMEDIES",
    "bowing",
    "chords",
    "colours",
    "harmonics",
    "loudness",
    "notes",
    "plucking",
    "sharing",
    "signs",
    "strings",
]
