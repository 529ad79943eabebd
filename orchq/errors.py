"""Errors that a caller can act on: the input or the call is wrong."""

import os
from collections.abc import Iterable
from difflib import get_close_matches
from pathlib import Path
from typing import TypeVar

_SHOWN = 12
"""Names that are listed when none is near."""


class OrchqError(Exception):
    """The input or the call is wrong; the text is one clear sentence for the user."""


class ReadError(OrchqError):
    """A file could not be read; names the file, and the line where there is one."""


class MalformedError(ReadError):
    """A file was read and is not well formed; ``sentences`` name each fault, with its line."""

    def __init__(self, sentences: Iterable[str]) -> None:
        self.sentences = tuple(sentences)
        super().__init__("\n".join(self.sentences))


class UnknownTermError(OrchqError):
    """A term of our namespace is used that no module declares."""


N = TypeVar("N", bound=str)


def known(kind: str, given: str, names: Iterable[N]) -> N:
    """Return the one of ``names`` that is given.

    Raises ``OrchqError`` that names the nearest ones.
    """
    every = tuple(names)
    for name in every:
        if name == given:
            return name
    raise OrchqError(f"no {kind} is called {given!r}; {hint(given, every)}")


def hint(given: str, names: Iterable[str]) -> str:
    """Return what the user may have meant: the nearest names, or some of them.

    >>> hint("studnet", ("orchestral", "soloist", "student"))
    'did you mean student?'
    """
    every = sorted(names)
    near = nearest(given, every)
    if near:
        return f"did you mean {' or '.join(near)}?"
    rest = f" and {len(every) - _SHOWN} others" if len(every) > _SHOWN else ""
    return f"known are {', '.join(every[:_SHOWN])}{rest}"


def nearest(given: str, names: Iterable[str], most: int = 3, alike: float = 0.6) -> list[str]:
    """Return the names most like the given one whatever its case, the nearest first.

    ``alike`` is how alike they must be, from 0 to 1.
    """
    by_sound = {name.casefold(): name for name in names}
    return [by_sound[each] for each in get_close_matches(given.casefold(), by_sound, most, alike)]


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


def explained(file: Path, error: Exception) -> str:
    """What is wrong with a file, in a sentence that names it."""
    told = explain(error)
    return told if isinstance(error, OrchqError | OSError) else f"{file}: {told}"
