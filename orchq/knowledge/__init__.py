"""The graph: Turtle modules and extensions, loaded, and the limits in force worked out."""

from orchq.knowledge.force import Verdict, verdict_of
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

__all__ = [
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
    "Source",
    "Technique",
    "Tuning",
    "Verdict",
    "load",
    "read_graph",
    "verdict_of",
]
