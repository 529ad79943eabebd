"""The entry point of the command line, and how every command ends."""

import gc
import signal
import sys
from collections.abc import Sequence
from typing import TYPE_CHECKING

from orchq.cli.failure import BROKEN_CALL, INTERRUPTED, fail
from orchq.cli.streams import settle_streams
from orchq.errors import explain
from orchq.lazily import lazily

if TYPE_CHECKING:
    from orchq.cli import ask, commands
else:
    ask, commands = lazily("orchq.cli", "ask", "commands")


def main(arguments: Sequence[str] | None = None) -> int:
    """Run the command line and return its exit code.

    Whatever goes wrong becomes one sentence on stderr. With ``ORCHQ_TRACEBACK`` set, an error
    of the program itself is raised, for debugging.
    """
    # A command makes hundreds of thousands of objects that live to its end: looking for cycles
    # among them often takes a tenth of its time and finds none.
    gc.set_threshold(200_000, 20, 20)
    settle_streams()
    if signal.getsignal(signal.SIGINT) is signal.SIG_DFL:
        signal.signal(signal.SIGINT, signal.default_int_handler)
    words = list(sys.argv[1:] if arguments is None else arguments)
    try:
        return _run(words)
    except KeyboardInterrupt:
        return INTERRUPTED
    except BrokenPipeError:  # of help, which the library of commands prints
        return 0
    except Exception as error:  # noqa: BLE001 - a newcomer must never meet a traceback
        fail(explain(error))
        return BROKEN_CALL


def _run(words: Sequence[str]) -> int:
    """Run a command; ``ask`` bypasses the library of the others, which loads slowly."""
    if words and words[0] == "ask":
        ask.ask_words(words[1:])
        return 0
    return commands.run_command(words)
