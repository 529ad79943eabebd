"""Compare ``orchq check`` with merely parsing the same quartet movement.

    python tests/benchmarks/check_quartet.py [PAIRS]

Times, as whole processes and in turn (A B A B ...), the check of Beethoven's string quartet
op. 18 no. 1, first movement, from the corpus that the music21 package installs, and a Python
process that imports music21 and parses the same file without its cache. Prints both medians,
and the ratio of each pair. Wall-clock seconds.
"""

import importlib.util
import os
import statistics
import subprocess
import sys
import time
from pathlib import Path

PARSE = "import sys; from music21 import converter; converter.parse(sys.argv[1], forceSource=True)"

# An installer compiles packages; a checkout must be let compile its own in the first run.
ENVIRONMENT = {k: v for k, v in os.environ.items() if k != "PYTHONDONTWRITEBYTECODE"}


def movement() -> Path:
    """The file in the installed corpus."""
    spec = importlib.util.find_spec("music21")
    if spec is None or spec.origin is None:
        sys.exit("music21 is not installed: pip install music21")
    return Path(spec.origin).parent / "corpus" / "beethoven" / "opus18no1" / "movement1.mxl"


def seconds(command: list[str], allowed: set[int]) -> float:
    """Run a command to its end and return how long that took."""
    started = time.perf_counter()
    done = subprocess.run(command, stdout=subprocess.DEVNULL, env=ENVIRONMENT, check=False)
    took = time.perf_counter() - started
    if done.returncode not in allowed:
        sys.exit(f"{' '.join(command)} ended with {done.returncode}")
    return took


def main() -> None:
    """Time the pairs and print what came out."""
    pairs = int(sys.argv[1]) if len(sys.argv) > 1 else 5
    score = str(movement())
    check = [sys.executable, "-m", "orchq", "check", score]
    parse = [sys.executable, "-c", PARSE, score]
    seconds(check, {0, 1})  # one of each uncounted: they compile, and fetch files from the disk
    seconds(parse, {0})
    checks, parses = [], []
    print("pair   orchq check   music21 parse   ratio")
    for pair in range(1, pairs + 1):
        checks.append(seconds(check, {0, 1}))
        parses.append(seconds(parse, {0}))
        ratio = checks[-1] / parses[-1]
        print(f"{pair:>4}   {checks[-1]:>9.2f} s   {parses[-1]:>11.2f} s   {ratio:>5.2f}")
    ratios = [check / parse for check, parse in zip(checks, parses, strict=True)]
    print(
        f"median {statistics.median(checks):>9.2f} s   {statistics.median(parses):>11.2f} s   "
        f"{statistics.median(ratios):>5.2f}"
    )


if __name__ == "__main__":
    main()
