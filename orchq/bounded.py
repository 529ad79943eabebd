"""Work that may not end, or take all memory, done in a process of its own that is ended in time.

Whatever becomes of the process that asked, the one that works ends: when its time is over, when
it has used as much of the processor, and when the one that asked is no more.
"""

import math
import os
import signal
import subprocess
import sys
import threading
import time
from contextlib import suppress
from pathlib import Path

from msgspec import Struct

MEMORY = 2 * 1024**3
"""Bytes that such a process may take, unless its work is known to need more."""

GRACE = 5
"""Seconds beyond its time after which the process ends itself, should nobody end it."""

_PACKAGES = str(Path(__file__).parents[1])
_LOOK = 0.5  # seconds between two looks for the process that asked
_PR_SET_PDEATHSIG = 1  # of prctl(2) on Linux


class Ended(Struct, frozen=True):
    """How the work ended: what was written, whether in time, and the exit code."""

    written: bytes
    code: int
    late: bool = False


def done(module: str, asked: bytes, seconds: float, memory: int = MEMORY) -> Ended:
    """Run a module of ours that begins with ``bind``, with ``asked`` on its standard input."""
    bounds = (str(seconds), str(memory), str(os.getpid()))
    try:
        ended = subprocess.run(  # noqa: S603 - a module of our own
            [sys.executable, "-P", "-m", module, *bounds],
            input=asked,
            capture_output=True,
            timeout=seconds,
            check=False,
            env=surroundings(),
        )
    except subprocess.TimeoutExpired as error:
        return Ended(error.stdout or b"", -signal.SIGTERM, late=True)
    return Ended(ended.stdout, ended.returncode)


def bind() -> None:
    """Set the bounds of this process, which ``done`` has started."""
    seconds, memory, parent = float(sys.argv[1]), int(sys.argv[2]), int(sys.argv[3])
    tie(parent, memory)
    last = math.ceil(seconds) + GRACE
    if hasattr(signal, "alarm"):
        signal.alarm(last)
    _limit("RLIMIT_CPU", last)


def tie(parent: int, memory: int) -> None:
    """Let this process end with the one that started it, and take no more than so many bytes.

    For one that does many jobs, whose time the one that started it bounds.
    """
    _end_with_parent(parent)
    _limit("RLIMIT_AS", memory)
    _limit("RLIMIT_CORE", 0)


def surroundings() -> dict[str, str]:
    """The environment in which a module of ours is found by a process that is started."""
    path = os.pathsep.join(filter(None, (_PACKAGES, os.environ.get("PYTHONPATH"))))
    return os.environ | {"PYTHONPATH": path}


def _limit(name: str, bound: int) -> None:
    """Lower a limit of the system, where it has one and lets it be set."""
    with suppress(ImportError, ValueError, OSError):
        import resource  # noqa: PLC0415 - not on every system

        _, hard = resource.getrlimit(getattr(resource, name))
        most = bound if hard == resource.RLIM_INFINITY else min(bound, hard)
        resource.setrlimit(getattr(resource, name), (most, hard))


def _end_with_parent(parent: int) -> None:
    if sys.platform == "linux":
        import ctypes  # noqa: PLC0415 - only here

        with suppress(OSError, AttributeError):
            ctypes.CDLL(None).prctl(_PR_SET_PDEATHSIG, signal.SIGKILL)
    # Elsewhere, and should the one that asked have ended before: libraries that work outside of
    # Python let this thread run only now and then.
    threading.Thread(target=_watch, args=(parent,), daemon=True).start()


def _watch(parent: int) -> None:
    while os.getppid() == parent:
        time.sleep(_LOOK)
    os._exit(1)
