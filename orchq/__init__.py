"""orchq: an orchestration knowledge graph for bowed strings, with rule queries."""

from orchq.api import catalogue, check, demo_path, export, load, read
from orchq.errors import OrchqError, ReadError, UnknownTermError

__all__ = [
    "OrchqError",
    "ReadError",
    "UnknownTermError",
    "catalogue",
    "check",
    "demo_path",
    "export",
    "load",
    "read",
]
