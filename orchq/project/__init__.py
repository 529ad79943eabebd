"""A project: what its checks go by, the graph loaded once, and what a check comes to."""

from orchq.project.checking import Project
from orchq.project.outcome import Outcome, Unread

__all__ = ["Outcome", "Project", "Unread"]
