"""A project: its settings, the graph loaded once, and the outcomes of its checks."""

from orchq.project.checking import Project
from orchq.project.outcome import Outcome, Unread

__all__ = ["Outcome", "Project", "Unread"]
