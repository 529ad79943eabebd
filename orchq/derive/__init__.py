"""Derives the facts that rules compare and SPARQL cannot compute."""

from orchq.derive.derivation import Derivation, Derived, derive

__all__ = ["Derivation", "Derived", "derive"]
