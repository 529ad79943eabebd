"""What the user is told when something is wrong."""

import os
import sys
from collections.abc import Iterable
from difflib import get_close_matches

from orchq.errors import OrchqError
from orchq.report import one_line

BROKEN_CALL = 2
"""Exit code when the input or the call is wrong."""


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


def known(kind: str, given: str, names: Iterable[str]) -> str:
    """Return ``given`` when it is one of ``names``.

    Raises ``OrchqError`` that names the nearest ones, or all when few.
    """
    all_names = sorted(names)
    if given in all_names:
        return given
    near = get_close_matches(given.lower(), all_names, n=3, cutoff=0.5)
    if near:
        hint = f"did you mean {' or '.join(near)}?"
    elif len(all_names) <= 6:
        hint = f"known are {', '.join(all_names)}"
    else:
        hint = f"there are {len(all_names)} others"
    raise OrchqError(f"no {kind} is called {given!r}; {hint}")
