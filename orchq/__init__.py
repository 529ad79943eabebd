"""orchq: an orchestration knowledge graph for bowed strings, with rule queries."""

from typing import TYPE_CHECKING

from orchq.errors import OrchqError, ReadError, UnknownTermError
from orchq.lazily import loaded

if TYPE_CHECKING:
    from orchq.api import catalogue, check, demo_path, export, read
    from orchq.graph_api import ask, export_knowledge, load

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

_ABOUT_THE_GRAPH = frozenset({"ask", "export_knowledge", "load"})


def __getattr__(name: str) -> object:
    """Import the verbs when one is first used, so that neither half waits for the other."""
    if name not in __all__:
        raise AttributeError(f"module {__name__!r} has no attribute {name!r}")
    home = "orchq.graph_api" if name in _ABOUT_THE_GRAPH else "orchq.api"
    return getattr(loaded(home), name)


def __dir__() -> list[str]:
    return __all__
