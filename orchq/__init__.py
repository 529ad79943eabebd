"""orchq: an orchestration knowledge graph for bowed strings, with rule queries."""

from importlib import import_module
from typing import TYPE_CHECKING

from orchq.errors import OrchqError, ReadError, UnknownTermError

if TYPE_CHECKING:
    from orchq.api import ask, catalogue, check, demo_path, export, export_knowledge, load, read

__all__ = [
    "OrchqError",
    "ReadError",
    "UnknownTermError",
    "ask",
    "catalogue",
    "check",
    "demo_path",
    "export",
    "export_knowledge",
    "load",
    "read",
]


def __getattr__(name: str) -> object:
    """Import the verbs when one is first used, so that a question does not wait for readers."""
    if name not in __all__:
        raise AttributeError(f"module {__name__!r} has no attribute {name!r}")
    return getattr(import_module("orchq.api"), name)


def __dir__() -> list[str]:
    return __all__
