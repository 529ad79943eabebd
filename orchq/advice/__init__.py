"""Advice: what to write instead of a mistake, tried out before it is offered."""

from orchq.advice import remedies as _registered
from orchq.advice.advising import Rewriting, advise, verified_rewritings
from orchq.advice.case import REMEDIES

__all__ = ["REMEDIES", "Rewriting", "advise", "verified_rewritings"]

assert _registered
