"""The path of the left hand along a line: strings, positions and fingers."""

from orchq.derive.path.difficulty import (
    DifficultyGrade,
    MeasureDifficulty,
    PartDifficulty,
    difficulty_of,
    hardest_usual,
)
from orchq.derive.path.fingering import FingeredNote, FingeredPart, Taking, fingering_of
from orchq.derive.path.free_fingers import can_pluck, can_trill
from orchq.derive.path.passages import finger_name, plain_steps
from orchq.derive.path.postures import Demand, Printed
from orchq.derive.path.search import PathSearch, Step, Weights
from orchq.derive.path.travel import least_travel, passed_over
from orchq.derive.path.weights import cost_iri, path_weights, weight_iri

__all__ = [
    "Demand",
    "DifficultyGrade",
    "FingeredNote",
    "FingeredPart",
    "MeasureDifficulty",
    "PartDifficulty",
    "PathSearch",
    "Printed",
    "Step",
    "Taking",
    "Weights",
    "can_pluck",
    "can_trill",
    "cost_iri",
    "difficulty_of",
    "finger_name",
    "fingering_of",
    "hardest_usual",
    "least_travel",
    "passed_over",
    "path_weights",
    "plain_steps",
    "weight_iri",
]
