"""How things show themselves in notebooks: drawn by a higher layer, which registers itself here.

A report or an answer knows no page and no drawing. ``orchq/__init__.py`` registers what draws them.
"""

from collections.abc import Callable
from typing import Any

_DISPLAYS: dict[str, Callable[[Any], str | None]] = {}


def register(kind: str, display: Callable[[Any], str | None]) -> None:
    """Show things of a kind in this way from now on."""
    _DISPLAYS[kind] = display


def shown(kind: str, thing: object) -> str | None:
    """A thing as HTML or SVG, ``None`` where nothing shows its kind or what does is missing."""
    display = _DISPLAYS.get(kind)
    return None if display is None else display(thing)
