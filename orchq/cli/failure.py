"""When a command fails, and what the user is told then."""

import os
import sys
from enum import StrEnum

from orchq.errors import OrchqError
from orchq.report.wording import one_line
from orchq.severity import SEVERITIES, Severity

BROKEN_CALL = 2
"""Exit code when the input or the call is wrong."""


class FailOn(StrEnum):
    """The mildest finding that makes the exit code 1."""

    VIOLATION = "violation"
    WARNING = "warning"
    INFO = "info"
    NEVER = "never"

    @property
    def severities(self) -> frozenset[Severity]:
        """All that make it so."""
        if self is FailOn.NEVER:
            return frozenset()
        return frozenset(SEVERITIES[SEVERITIES.index(self.value) :])


def fail(sentence: str) -> None:
    """Say on stderr, on one line, what is wrong."""
    print(f"orchq: {one_line(sentence, 1000)}", file=sys.stderr)


def explain(error: Exception) -> str:
    """Put an error into one sentence.

    An error that is nobody's but the program's own is raised again, for those who mend it,
    when the environment sets ``ORCHQ_TRACEBACK``.
    """
    if isinstance(error, OrchqError):
        return str(error)
    if isinstance(error, OSError) and error.strerror:
        place = f"{error.filename}: " if error.filename is not None else ""
        return f"{place}{error.strerror}"
    if os.environ.get("ORCHQ_TRACEBACK"):
        raise error
    told = f": {error}" if str(error) else ""
    return (
        f"a fault of orchq itself ({type(error).__name__}{told}); please report it with the "
        "file and what ORCHQ_TRACEBACK=1 prints"
    )
