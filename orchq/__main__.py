"""``python -m orchq``, and the program ``orchq``: the command line."""

import signal
import sys

from orchq.lazily import loaded


def main() -> int:
    """Run the command line and return its exit code."""
    # Until the command line can answer, Ctrl-C ends the program without a word.
    if signal.getsignal(signal.SIGINT) is signal.default_int_handler:
        signal.signal(signal.SIGINT, signal.SIG_DFL)
    code: int = loaded("orchq.cli.app").main()
    return code


if __name__ == "__main__":
    sys.exit(main())
