"""How a command fails, and what the user reads then."""

from orchq.cli.streams import complain
from orchq.report.wording import one_line

BROKEN_CALL = 2
"""Exit code when the input or the call is wrong."""

INTERRUPTED = 130
"""Exit code when the user has ended the work, as shells give it."""


def fail(sentence: str) -> None:
    """Say on stderr, on one line, what is wrong."""
    complain(f"orchq: {one_line(sentence, 1000)}")
