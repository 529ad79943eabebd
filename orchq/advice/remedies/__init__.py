"""The remedies of the graph, worked out; importing the modules here registers them."""

from orchq.advice.case import REMEDIES
from orchq.advice.remedies import (
    bow_changes,
    chords,
    colours,
    loudness,
    moved_notes,
    other_string,
    plucking,
    sharing,
    signs_and_words,
    touched_or_stopped,
)

__all__ = [
    "REMEDIES",
    "bow_changes",
    "chords",
    "colours",
    "loudness",
    "moved_notes",
    "other_string",
    "plucking",
    "sharing",
    "signs_and_words",
    "touched_or_stopped",
]
