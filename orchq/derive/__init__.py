"""Derives the facts that rules compare and SPARQL cannot compute."""

from orchq.derive.derivation import Derivation, derive

__all__ = ["Derivation", "derive"]
