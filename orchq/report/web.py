"""What HTML pages share: the template engine, the common style, and the security policy."""

from base64 import b64encode
from functools import partial
from hashlib import sha256
from importlib.util import find_spec
from pathlib import Path
from typing import Any

from orchq.errors import OrchqError
from orchq.report.text_page import SHAPES
from orchq.report.wording import counted, one_line, part_name
from orchq.version import program_version

_HERE = Path(__file__).parent
_LIBRARIES = ("jinja2", "verovio")


def document(path: Path, *, look: str = "", more_style: str = "", **content: Any) -> str:
    """Return a page of a template, whose style and script lie beside it under the name ``look``.

    Without ``look`` they are called as the template is. The page may use what its style, script
    and nothing else allow. Raises ``OrchqError`` when Jinja2 is not installed.
    """
    name = look or path.name.partition(".")[0]
    style = _source(_HERE / "common.css") + _source(path.with_name(f"{name}.css")) + more_style
    script = _source(path.with_name(f"{name}.js"))
    page: str = template(path).render(
        style=style,
        style_hash=style_hash(style),
        script=script,
        script_hash=style_hash(script),
        version=program_version(),
        **content,
    )
    return page


def check_installed() -> None:
    """Refuse at once when a library that pages with engraved notes need is missing.

    Raises ``OrchqError``.
    """
    if not all(map(find_spec, _LIBRARIES)):
        raise OrchqError(
            "pages with engraved notes need verovio and Jinja2: pip install 'orchq[report]'"
        )


def _source(path: Path) -> str:
    return path.read_text(encoding="utf-8") if path.exists() else ""


def style_hash(text: str) -> str:
    """How a content security policy names a style or script that it allows."""
    return f"sha256-{b64encode(sha256(text.encode()).digest()).decode()}"


def template(path: Path) -> Any:
    """A template of Jinja that escapes what it is given; it may use those beside it or here.

    Raises ``OrchqError`` when Jinja2 is not installed.
    """
    try:
        from jinja2 import Environment, FileSystemLoader, StrictUndefined  # noqa: PLC0415 - optional
    except ImportError as error:
        raise OrchqError("pages need Jinja2: pip install 'orchq[report]'") from error

    environment = Environment(
        loader=FileSystemLoader([path.parent, _HERE]),
        autoescape=True,
        undefined=StrictUndefined,
        trim_blocks=True,
        lstrip_blocks=True,
    )
    environment.filters |= {
        "one_line": one_line,
        "long_line": partial(one_line, limit=2000),
        "counted": counted,
        "part_name": lambda part: part_name(part.name, part.index),
        "shape": SHAPES.__getitem__,
    }
    return environment.get_template(path.name)
