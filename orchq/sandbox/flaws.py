"""What is wrong with rules and questions that others wrote, and who hears of it."""

import re
from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path

from orchq.errors import OrchqError
from orchq.knowledge.store import PROLOGUE
from orchq.severity import Severity
from orchq.terms import slug_of

SLUG = re.compile(r"[a-z0-9]+(-[a-z0-9]+)*")
"""How a rule or question is called."""

_POSITION = re.compile(r"error at (\d+):\d+: ")


@dataclass(frozen=True, slots=True)
class Flaw:
    """What is wrong with a rule or a question, told of a ``node``.

    ``kind`` names the flaw, ``line`` counts from 1 in the file where it is known; a warning leaves
    it fit for use.
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
"""What is done with a flaw: it is raised, or collected."""


def refuse(flaw: Flaw) -> None:
    """Raise a flaw as ``OrchqError``, unless it is a mere warning."""
    if flaw.severity == "violation":
        raise OrchqError(str(flaw))


def position(said: str) -> tuple[int, str]:
    """What an engine says of a query it cannot read: the line in it, and a sentence."""
    match = _POSITION.match(said)
    if match is None:
        return 1, f"holds a query that cannot be read: it {said}"
    line = max(int(match[1]) - PROLOGUE.count("\n"), 1)
    expected = " ".join(said[match.end() :].split())
    return line, f"holds a query that is not SPARQL: {expected[:100]}"
