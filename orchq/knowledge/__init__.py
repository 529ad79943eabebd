"""The graph: loads Turtle modules and extensions, and resolves the limits in force."""

from orchq.knowledge.graph import Knowledge, load, read_graph
from orchq.knowledge.lexicon import InstrumentMatch, Reading
from orchq.knowledge.model import (
    Directive,
    Dynamic,
    Instrument,
    InstrumentString,
    Limit,
    Pedal,
    Register,
    Remedy,
    Source,
    Technique,
    Tuning,
)
from orchq.knowledge.thesaurus import SoundWord, Thesaurus
from orchq.knowledge.weighing import (
    VERDICTS,
    Verdict,
    Weighing,
    Yardstick,
    Zone,
)

__all__ = [
    "VERDICTS",
    "Directive",
    "Dynamic",
    "Instrument",
    "InstrumentMatch",
    "InstrumentString",
    "Knowledge",
    "Limit",
    "Pedal",
    "Reading",
    "Register",
    "Remedy",
    "SoundWord",
    "Source",
    "Technique",
    "Thesaurus",
    "Tuning",
    "Verdict",
    "Weighing",
    "Yardstick",
    "Zone",
    "load",
    "read_graph",
]
