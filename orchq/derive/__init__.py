"""Derives the facts that rules compare and SPARQL cannot compute."""
