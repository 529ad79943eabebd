"""Distinct names that are safe in an IRI."""

import re

_UNSAFE = re.compile(r"[^A-Za-z0-9_-]+")


def slug(text: str, otherwise: str = "x") -> str:
    """Return a text as letters, digits, ``_`` and ``-``; ``otherwise`` when nothing is left.

    >>> slug("String Quartet No. 1"), slug("♪♪")
    ('String-Quartet-No-1', 'x')
    """
    return _UNSAFE.sub("-", text).strip("-") or otherwise


class DistinctNames:
    """Issues slugs, never the same one twice."""

    def __init__(self) -> None:
        self._taken: set[str] = set()

    def name(self, text: str, otherwise: str) -> str:
        """A slug of the text, with a number appended where another text has the same slug."""
        plain = slug(text, otherwise)
        name, number = plain, 1
        while name in self._taken:
            number += 1
            name = f"{plain}-{number}"
        self._taken.add(name)
        return name
