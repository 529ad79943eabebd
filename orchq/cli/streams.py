"""Standard output and error, whether open, closed, full or no longer read."""

import io
import os
import sys
from contextlib import suppress

from orchq.errors import OrchqError


def settle_streams() -> None:
    """Make sure that the three streams exist and can encode every character.

    Where one was closed before the start, the next file opened would take its place.
    """
    for number in range(3):
        try:
            os.fstat(number)
        except OSError:
            os.open(os.devnull, os.O_RDWR)  # the lowest number that is free
    if sys.stderr is None:
        sys.stderr = open(os.devnull, "w", encoding="utf-8")  # noqa: PTH123, SIM115 - to the end
    if sys.stdout is None:
        sys.stdout = _Closed()
    for stream in (sys.stdout, sys.stderr):
        if isinstance(stream, io.TextIOWrapper):
            stream.reconfigure(errors="replace")


class _Closed(io.StringIO):
    """Replaces a standard output that was closed before the start."""

    def write(self, _text: str) -> int:
        raise OSError("it is closed")


def say(text: str) -> None:
    """Write to standard output until all is out.

    A reader that stops early, such as ``head``, is no error. Raises
    ``OrchqError`` when it cannot be written.
    """
    try:
        _write(text)
    except BrokenPipeError:
        _let_go(sys.stdout)
    except (OSError, ValueError) as error:
        _let_go(sys.stdout)
        reason = getattr(error, "strerror", None) or error
        raise OrchqError(f"standard output: cannot be written: {reason}") from error


def _write(text: str) -> None:
    stream = sys.stdout
    if not isinstance(stream, io.TextIOWrapper):
        stream.write(text)
        stream.flush()
        return
    stream.flush()
    # Without a buffer, as with PYTHONUNBUFFERED, a write may be partial without an error.
    left = memoryview(text.replace("\n", os.linesep).encode(stream.encoding, "replace"))
    while left:
        taken = stream.buffer.write(left)
        if not taken:
            raise OSError("it takes no more")
        left = left[taken:]
    stream.flush()


def _let_go(stream: object) -> None:
    """Point a stream to the null device, so that closing it at exit raises no error."""
    with suppress(OSError, ValueError, AttributeError):
        nowhere = os.open(os.devnull, os.O_WRONLY)
        os.dup2(nowhere, stream.fileno())  # type: ignore[attr-defined]
        os.close(nowhere)


def complain(line: str) -> None:
    """Write a line to standard error, if anyone can read it."""
    try:
        print(line, file=sys.stderr, flush=True)
    except (OSError, ValueError):
        _let_go(sys.stderr)
