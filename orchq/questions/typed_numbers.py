"""Numbers as people type them: counts and seconds."""

import re

from orchq.errors import OrchqError

_SECONDS = re.compile(r"([0-9]{1,4}(?:[.,][0-9]{1,3})?)\s*(?:s|sec|seconds?)?")


def whole_number(name: str, given: int | str, most: int) -> int:
    """Read a whole number from 1 to ``most``; ``name`` is what errors call it.

    Raises ``OrchqError`` when it is none.
    """
    text = str(given).strip()
    if isinstance(given, bool) or not (text.isascii() and text.isdecimal() and len(text) <= 6):
        raise OrchqError(f"{name} must be a whole number above 0, not {given!r}")
    if not 0 < int(text) <= most:
        raise OrchqError(f"{name} must be from 1 to {most}, not {int(text)}")
    return int(text)


def parse_seconds(given: float | str) -> float:
    """Read a time in seconds, with or without its unit.

    Raises ``OrchqError`` when it is none.

    >>> parse_seconds("1.5 s"), parse_seconds(2)
    (1.5, 2.0)
    """
    match = None if isinstance(given, bool) else _SECONDS.fullmatch(str(given).strip().lower())
    if match is None:
        raise OrchqError(f"{given!r} is not a time in seconds; write 1 or 1.5s")
    return float(match[1].replace(",", "."))
