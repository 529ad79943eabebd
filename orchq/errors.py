"""Errors that a caller can act on: the input or the call is wrong."""

from collections.abc import Iterable
from difflib import get_close_matches


class OrchqError(Exception):
    """The input or the call is wrong; the text is one clear sentence for the user."""


class ReadError(OrchqError):
    """A file could not be read; names the file, and the line where there is one."""


class UnknownTermError(OrchqError):
    """A term of our namespace is used that no module declares."""


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
