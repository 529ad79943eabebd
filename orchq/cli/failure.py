"""How a command fails, and what the user then reads."""

from orchq.cli.streams import complain
from orchq.report.wording import one_line

BROKEN_CALL = 2
"""Exit code for bad input or usage."""

INTERRUPTED = 130
"""Exit code when the user interrupts the command, as shells define it."""


def fail(sentence: str) -> None:
    """Report on stderr, on one line, what is wrong."""
    complain(f"orchq: {one_line(sentence, 1000)}")
