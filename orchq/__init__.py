"""orchq: an orchestration knowledge graph for bowed strings, with rule queries."""

from collections.abc import Callable
from functools import partial
from typing import TYPE_CHECKING

from orchq.displays import register
from orchq.errors import OrchqError, ReadError, UnknownTermError
from orchq.lazily import loaded

if TYPE_CHECKING:
    from orchq.api import (
        catalogue,
        check,
        difficulty,
        export,
        export_shapes,
        fingering,
        read,
    )
    from orchq.graph_api import ask, export_knowledge, export_vocabulary, load
    from orchq.packaged import demo_path
    from orchq.project import Outcome, Project
    from orchq.report.formats import format_report
    from orchq.writers.annotations import without_annotations

__all__ = [
    "OrchqError",
    "Outcome",
    "Project",
    "ReadError",
    "UnknownTermError",
    "ask",
    "catalogue",
    "check",
    "demo_path",
    "difficulty",
    "export",
    "export_knowledge",
    "export_shapes",
    "export_vocabulary",
    "fingering",
    "format_report",
    "load",
    "read",
    "without_annotations",
]

_HOMES = {
    **dict.fromkeys(
        (
            "catalogue",
            "check",
            "difficulty",
            "export",
            "export_shapes",
            "fingering",
            "read",
        ),
        "orchq.api",
    ),
    **dict.fromkeys(("ask", "export_knowledge", "export_vocabulary", "load"), "orchq.graph_api"),
    **dict.fromkeys(("Outcome", "Project"), "orchq.project"),
    "demo_path": "orchq.packaged",
    "format_report": "orchq.report.formats",
    "without_annotations": "orchq.writers.annotations",
}


def __getattr__(name: str) -> object:
    """Import what is public when it is first used, so that nothing waits for what it needs not."""
    if name not in _HOMES:
        raise AttributeError(f"module {__name__!r} has no attribute {name!r}")
    return getattr(loaded(_HOMES[name]), name)


def __dir__() -> list[str]:
    return __all__


def _displayed(name: str, thing: object) -> str | None:
    """Show a thing in a notebook, by what is loaded for the first that is shown."""
    display: Callable[[object], str | None] = getattr(loaded("orchq.report.notebook"), name)
    return display(thing)


for _name in ("outcome_html", "report_html", "answers_svg"):
    register(_name, partial(_displayed, _name))
