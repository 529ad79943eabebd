"""What pages of HTML share: the template engine, the common style, and how it is allowed."""

from base64 import b64encode
from functools import partial
from hashlib import sha256
from pathlib import Path
from typing import Any

from orchq.errors import OrchqError
from orchq.report.page import SHAPES
from orchq.report.wording import counted, one_line, part_name

_STYLE = Path(__file__).with_name("common.css")


def common_style() -> str:
    """Colours, light and dark, and the look of text and tables."""
    return _STYLE.read_text(encoding="utf-8")


def style_hash(text: str) -> str:
    """How a content security policy names a style or script that it allows."""
    return f"sha256-{b64encode(sha256(text.encode()).digest()).decode()}"


def template(path: Path) -> Any:
    """A template of Jinja that escapes what it is given; it may extend those that lie beside it.

    Raises ``OrchqError`` when Jinja2 is not installed.
    """
    try:
        from jinja2 import Environment, FileSystemLoader, StrictUndefined  # noqa: PLC0415 - optional
    except ImportError as error:
        raise OrchqError("pages need Jinja2: pip install 'orchq[report]'") from error

    environment = Environment(
        loader=FileSystemLoader(path.parent),
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
