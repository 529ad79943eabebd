"""Pages of the server's own, and what it puts before those of others, from its templates."""

from pathlib import Path
from typing import Any

from msgspec import Struct

from orchq.report.web import document, template

HERE = Path(__file__).parent
"""Where templates, styles and scripts lie."""


class Addition(Struct, frozen=True):
    """What a page has before its own content: HTML that is safe, a style and a script."""

    html: str = ""
    style: str = ""
    script: str = ""


def own_page(name: str, **content: Any) -> str:
    """A page of the server's own, from the template of this name."""
    return document(HERE / f"{name}.html.jinja", look="app", **content)


def addition(name: str, **content: Any) -> Addition:
    """What the template of this name puts before a page, with its style and script."""
    path = HERE / f"{name}.html.jinja"
    return Addition(template(path).render(**content), asset(f"{name}.css"), asset(f"{name}.js"))


def asset(name: str) -> str:
    """A style or script; empty where there is none of this name."""
    path = HERE / name
    return path.read_text(encoding="utf-8") if path.exists() else ""
