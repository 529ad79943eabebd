"""What is around every page: the bar with the ways to the others, and what a browser may do.

Reports, sheets and reference pages are documents of their own, with a security policy within
them. Here the bar is put before them, and their policy, widened by what the page adds, becomes
that of the response.
"""

import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from starlette.responses import HTMLResponse

from orchq.report.web import document, style_hash, template

_HERE = Path(__file__).parent
_POLICY = re.compile(r'<meta http-equiv="Content-Security-Policy" content="([^"]*)">\n')
_MAIN = re.compile(r'<main id="([a-z-]+)"')
_ADDED = {
    "connect-src": ["'self'"],
    "form-action": ["'self'"],
    "img-src": ["'self'", "data:"],
    "frame-ancestors": ["'none'"],
}
CHAPTERS: Mapping[str, str] = {
    "": "Scores",
    "questions/": "Questions",
    "instruments/": "Instruments",
    "reference/glossary.html": "Words",
    "reference/rules.html": "Rules",
    "reference/limits.html": "Sources",
}
"""The ways that the bar offers: what they are called by their addresses below the token."""


@dataclass(frozen=True, slots=True)
class Addition:
    """What a page has before its own content: HTML that is safe, a style and a script."""

    html: str = ""
    style: str = ""
    script: str = ""


NOTHING_ADDED = Addition()


def own_page(name: str, **content: Any) -> str:
    """A page of the server's own, from the template of this name."""
    return document(_HERE / f"{name}.html.jinja", look="app", **content)


def addition(name: str, **content: Any) -> Addition:
    """What the template of this name puts before a page, with its style and script."""
    path = _HERE / f"{name}.html.jinja"
    return Addition(template(path).render(**content), _file(f"{name}.css"), _file(f"{name}.js"))


def framed(
    page: str, root: str, chapter: str, added: Addition = NOTHING_ADDED, status: int = 200
) -> HTMLResponse:
    """A page under the bar; ``root`` is the address of all, ``chapter`` where it belongs."""
    bar = template(_HERE / "bar.html.jinja").render(
        root=root, chapters=CHAPTERS.items(), chapter=chapter, main=_main_of(page)
    )
    style = _file("bar.css") + added.style
    found = _POLICY.search(page)
    assert found is not None
    head, _, rest = page.replace(found[0], "", 1).partition("</head>")
    before, body, content = rest.partition("<body>")
    content, end, after = content.rpartition("</body>")
    script = f"<script>{added.script}</script>\n" if added.script else ""
    text = (
        f'{head}<link rel="icon" href="data:,">\n<style>{style}</style>\n</head>'
        f"{before}{body}\n{bar}{added.html}{content}{script}{end}{after}"
    )
    policy = _widened(found[1], style, added.script)
    return HTMLResponse(text, status, {"Content-Security-Policy": policy})


def _main_of(page: str) -> str:
    """The identifier of the main part of a page."""
    found = _MAIN.search(page)
    assert found is not None
    return found[1]


def _widened(policy: str, style: str, script: str) -> str:
    """The policy of a document, with what is added to it allowed."""
    every: dict[str, Sequence[str]] = {}
    for directive in policy.split(";"):
        name, *values = directive.split()
        every[name] = values
    every |= _ADDED
    for name, text in (("style-src", style), ("script-src", script)):
        if text:
            every[name] = [*every.get(name, ()), f"'{style_hash(text)}'"]
    return "; ".join(" ".join((name, *values)) for name, values in every.items())


def _file(name: str) -> str:
    path = _HERE / name
    return path.read_text(encoding="utf-8") if path.exists() else ""
