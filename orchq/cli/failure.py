"""How a command fails, and what the user reads then."""

import sys

from orchq.report.wording import one_line

BROKEN_CALL = 2
"""Exit code when the input or the call is wrong."""


def fail(sentence: str) -> None:
    """Say on stderr, on one line, what is wrong."""
    print(f"orchq: {one_line(sentence, 1000)}", file=sys.stderr)
