"""Reads and writes scores as triples of the public excerpt vocabulary."""

from orchq.excerpt.allowed_terms import check_statements, check_terms
from orchq.excerpt.fields import decimal
from orchq.excerpt.reading import read_excerpt_quads, score_from_quads
from orchq.excerpt.seats import seated, seated_quads
from orchq.excerpt.writing import score_quads

__all__ = [
    "check_statements",
    "check_terms",
    "decimal",
    "read_excerpt_quads",
    "score_from_quads",
    "score_quads",
    "seated",
    "seated_quads",
]
