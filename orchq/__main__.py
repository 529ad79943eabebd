"""``python -m orchq``: the command line."""

import sys

from orchq.cli.app import main

if __name__ == "__main__":
    sys.exit(main())
