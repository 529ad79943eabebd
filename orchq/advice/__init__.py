"""Advice: what to write instead of a mistake, tried out before it is offered."""

from orchq.advice.advising import Rewriting, advise, verified_rewritings
from orchq.advice.remedies import REMEDIES
from orchq.advice.trying import Workbench

__all__ = ["REMEDIES", "Rewriting", "Workbench", "advise", "verified_rewritings"]
