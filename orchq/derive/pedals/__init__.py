"""Pedals that set the strings of a letter: what can be set at once, and when each pedal moves.

``settings`` covers one moment, ``planning`` a passage; ``facts`` states both as triples.
"""

from orchq.derive.pedals.pedal_facts import hand_quads, pedal_quads
from orchq.derive.pedals.planning import Plan, PluckedAttack, Sounding, plan
from orchq.derive.pedals.settings import (
    Setting,
    position_in_words,
    respelled,
    setting_text,
    settings_sounding,
    spellings,
)

__all__ = [
    "Plan",
    "PluckedAttack",
    "Setting",
    "Sounding",
    "hand_quads",
    "pedal_quads",
    "plan",
    "position_in_words",
    "respelled",
    "setting_text",
    "settings_sounding",
    "spellings",
]
