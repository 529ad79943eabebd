"""The left hand: which notes one player can stop together, and how hard that is."""

from orchq.derive.hand.build import hand_model, hand_weights, highest_stop
from orchq.derive.hand.geometry import semitones_at, span_mm, stop_mm
from orchq.derive.hand.grades import EffortWeights, Grade, grade_of
from orchq.derive.hand.hand_frames import Finger, Frame, HandModel, Level
from orchq.derive.hand.nodes import Node, node_at, nodes
from orchq.derive.hand.reasons import Reason, ReasonCode
from orchq.derive.hand.solver import Placement, Playing, Stop, StopSolver, solve, solver_for

__all__ = [
    "EffortWeights",
    "Finger",
    "Frame",
    "Grade",
    "HandModel",
    "Level",
    "Node",
    "Placement",
    "Playing",
    "Reason",
    "ReasonCode",
    "Stop",
    "StopSolver",
    "grade_of",
    "hand_model",
    "hand_weights",
    "highest_stop",
    "node_at",
    "nodes",
    "semitones_at",
    "solve",
    "solver_for",
    "span_mm",
    "stop_mm",
]
