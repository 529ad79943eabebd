"""A project: what its checks go by, the graph loaded once, and what a check comes to."""

from orchq.project.outcome import Outcome, Unread
from orchq.project.project import Project

__all__ = ["Outcome", "Project", "Unread"]
