"""The skeleton of an extension: Turtle with the questions that an instrument's author answers."""

import re
from pathlib import Path

from orchq.errors import OrchqError

_TEMPLATE = Path(__file__).with_name("instrument.ttl.in")
_NAME = re.compile(r"[^\W\d_][\w' -]*")


def skeleton(name: str) -> str:
    """Return the skeleton for an instrument called so in English.

    Raises ``OrchqError`` when the name holds more than letters, digits, spaces and hyphens.
    """
    if not _NAME.fullmatch(name):
        raise OrchqError(f"{name!r} is not an instrument's name: letters, spaces and hyphens only")
    slug = re.sub(r"[^a-z0-9]+", "-", name.lower()).strip("-")
    if not slug:
        raise OrchqError(f"{name!r} has no letter from a to z to make its IRI from")
    text = _TEMPLATE.read_text(encoding="utf-8")
    return text.replace("%NAME%", name).replace("%SLUG%", slug)
