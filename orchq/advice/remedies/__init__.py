"""The remedies of the graph, worked out: importing this package registers all of them."""

from orchq.advice.remedies import (
    bowing,
    chords,
    colours,
    harmonics,
    loudness,
    notes,
    signs,
    strings,
)

__all__ = ["bowing", "chords", "colours", "harmonics", "loudness", "notes", "signs", "strings"]
