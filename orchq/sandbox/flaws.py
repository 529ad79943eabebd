"""Flaws of user-supplied rules and questions, and how they are reported."""

import re
from collections.abc import Callable
from pathlib import Path

from msgspec import Struct

from orchq.errors import OrchqError
from orchq.knowledge.store import PROLOGUE
from orchq.severity import Severity
from orchq.terms import slug_of

SLUG = re.compile(r"[a-z0-9]+(-[a-z0-9]+)*")
"""Pattern for the names of rules and questions."""

_POSITION = re.compile(r"error at (\d+):\d+: ")


class Flaw(Struct, frozen=True):
    """A flaw of a rule or a question, reported at a ``node``.

    ``kind`` names the flaw, ``line`` counts from 1 in the file where it is known; with a mere
    warning the rule or question remains usable.
    """

    kind: str
    path: Path
    line: int | None
    node: str
    text: str
    severity: Severity = "violation"

    def __str__(self) -> str:
        line = f":{self.line}" if self.line else ""
        return f"{self.path}{line}: {slug_of(self.node)} {self.text}"


Tell = Callable[[Flaw], None]
"""A handler of flaws, which raises or collects them."""


def refuse(flaw: Flaw) -> None:
    """Raise a flaw as ``OrchqError``, unless it is a mere warning."""
    if flaw.severity == "violation":
        raise OrchqError(str(flaw))


def position(message: str) -> tuple[int, str]:
    """Return the line and a sentence from an engine's message on a query it cannot parse."""
    match = _POSITION.match(message)
    if match is None:
        return 1, f"has a query that cannot be read: it {message}"
    line = max(int(match[1]) - PROLOGUE.count("\n"), 1)
    expected = " ".join(message[match.end() :].split())
    return line, f"has a query that is not SPARQL: {expected[:100]}"
