"""A project: its settings, the graph loaded once, and the outcomes of its checks."""

from orchq.project.corrections import Applied, Choice, Correction
from orchq.project.outcome import Outcome, Unread
from orchq.project.project import Project

__all__ = ["Applied", "Choice", "Correction", "Outcome", "Project", "Unread"]
