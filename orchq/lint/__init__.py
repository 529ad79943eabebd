"""Checks extensions of the ontology: what is missing, misspelt, invalid or contradictory."""

from orchq.lint.faults import Fault, Involved
from orchq.lint.linting import LintReport, lint
from orchq.lint.skeleton import skeleton

__all__ = ["Fault", "Involved", "LintReport", "lint", "skeleton"]
