"""Errors that a caller can act on: the input or the call is invalid."""

import os
from collections.abc import Iterable
from difflib import get_close_matches
from pathlib import Path
from typing import TypeVar

_SHOWN = 12
"""How many names are listed when none is similar."""


class OrchqError(Exception):
    """The input or the call is invalid; the text is one clear sentence for the user."""


class ReadError(OrchqError):
    """A file could not be read; names the file, and the line where there is one."""


class FaultsError(OrchqError):
    """An input has one fault or more; ``sentences`` name each, with its line."""

    def __init__(self, *sentences: str) -> None:
        self.sentences = sentences
        super().__init__("\n".join(sentences))


class MalformedError(FaultsError, ReadError):
    """A file was read and is not well formed."""


class UnknownTermError(FaultsError):
    """A term of our namespace is used but no module declares it."""


def located(file: Path | str, line: int | None, message: str) -> str:
    """Return a message with the file, and the line where there is one, before it.

    >>> located("a.ttl", 7, "not Turtle")
    'a.ttl:7: not Turtle'
    """
    return f"{file}{f':{line}' if line else ''}: {message}"


N = TypeVar("N", bound=str)


def known(kind: str, given: str, names: Iterable[N]) -> N:
    """Return the value of ``names`` under the given name.

    Raises ``OrchqError`` that suggests the nearest names.
    """
    every = tuple(names)
    for name in every:
        if name == given:
            return name
    raise OrchqError(f"no {kind} is called {given!r}; {hint(given, every)}")


def hint(given: str, names: Iterable[str]) -> str:
    """Return a suggestion for the user: the nearest names, or some of those known.

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
    """Return the names most similar to the given one, ignoring case, nearest first.

    ``alike`` is the least similarity, from 0 to 1.
    """
    by_sound = {name.casefold(): name for name in names}
    return [by_sound[each] for each in get_close_matches(given.casefold(), by_sound, most, alike)]


def explain(error: Exception) -> str:
    """Return an error as one sentence.

    An internal error is raised again when the environment sets ``ORCHQ_TRACEBACK``, for whoever
    debugs it.
    """
    if isinstance(error, OrchqError):
        return str(error)
    if isinstance(error, OSError) and error.strerror:
        place = f"{error.filename}: " if error.filename is not None else ""
        return f"{place}{error.strerror}"
    if os.environ.get("ORCHQ_TRACEBACK"):
        raise error
    detail = f": {error}" if str(error) else ""
    return (
        f"internal error in orchq ({type(error).__name__}{detail}); please report it with the "
        "file and the output under ORCHQ_TRACEBACK=1"
    )


def explained(file: Path, error: Exception) -> str:
    """Return what is wrong with a file, as one sentence that names it."""
    sentence = explain(error)
    return sentence if isinstance(error, OrchqError | OSError) else f"{file}: {sentence}"
