"""What is around every page: the bar with the ways to the others, and what a browser may do.

Reports, sheets and reference pages are documents of their own, with a security policy within
them. Here the bar is put before them, behind their link to the content, and their policy, widened
by what the page adds, becomes that of the response.
"""

import re
from collections.abc import Mapping, Sequence

from starlette.responses import HTMLResponse

from orchq.app.own_pages import HERE, Addition, asset
from orchq.report.web import style_hash, template

_POLICY = re.compile(r'<meta http-equiv="Content-Security-Policy" content="([^"]*)">\n')
_SKIP = re.compile(r'<a class="skip" href="#[a-z-]+">[^<]*</a>')
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


NOTHING_ADDED = Addition()


def framed(
    page: str, root: str, chapter: str | None, added: Addition = NOTHING_ADDED, status: int = 200
) -> HTMLResponse:
    """A page under the bar; ``root`` is the address of all, ``chapter`` where it belongs.

    Without a chapter there is no bar: nothing is there any more that it could lead to.
    """
    bar = ""
    if chapter is not None:
        bar = template(HERE / "bar.html.jinja").render(
            root=root, chapters=CHAPTERS.items(), chapter=chapter
        )
    style = asset("bar.css") + added.style
    found = _POLICY.search(page)
    assert found is not None
    head, _, rest = page.replace(found[0], "", 1).partition("</head>")
    before, body, content = rest.partition("<body>")
    content, end, after = content.rpartition("</body>")
    skip = _SKIP.search(content)
    assert skip is not None
    content = content.replace(skip[0], "", 1)
    script = f"<script>{added.script}</script>\n" if added.script else ""
    text = (
        f'{head}<link rel="icon" href="data:,">\n<style>{style}</style>\n</head>'
        f"{before}{body}\n{skip[0]}\n{bar}{added.html}{content}{script}{end}{after}"
    )
    policy = _widened(found[1], style, added.script)
    return HTMLResponse(text, status, {"Content-Security-Policy": policy})


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
