"""The path of the left hand along a line: strings, positions and fingers."""

from orchq.derive.path.difficulty import (
    DifficultyGrade,
    MeasureDifficulty,
    PartDifficulty,
    difficulty_of,
)
from orchq.derive.path.fingering import FingeredNote, FingeredPart, Taking, fingering_of
from orchq.derive.path.passages import finger_name, plain_steps
from orchq.derive.path.search import PathSearch, Step, Weights
from orchq.derive.path.weights import cost_iri, path_weights, weight_iri

__all__ = [
    "DifficultyGrade",
    "FingeredNote",
    "FingeredPart",
    "MeasureDifficulty",
    "PartDifficulty",
    "PathSearch",
    "Step",
    "Taking",
    "Weights",
    "cost_iri",
    "difficulty_of",
    "finger_name",
    "fingering_of",
    "path_weights",
    "plain_steps",
    "weight_iri",
]
