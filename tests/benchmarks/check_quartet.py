"""Compare ``orchq check`` with merely parsing the same quartet movement.

    python tests/benchmarks/check_quartet.py [PAIRS]

Times, as whole processes and in turn (A B C A B C ...), the check of Beethoven's string quartet
op. 18 no. 1, first movement, from the corpus that the music21 package installs, the same with
advice on its two warnings, and a Python process that imports music21 and parses the same file
without its cache. Prints the medians, and the ratios of each round. Wall-clock seconds.
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
    advised = [sys.executable, "-m", "orchq", "check", score]
    commands = ([*advised, "--no-advice"], advised, [sys.executable, "-c", PARSE, score])
    for command in commands:  # uncounted: they compile, and fetch files from the disk
        seconds(command, {0, 1})
    rounds: list[list[float]] = []
    print("round   check   with advice   music21 parse   ratio   with advice")
    for number in range(1, pairs + 1):
        rounds.append([seconds(command, {0, 1}) for command in commands])
        print(f"{number:>5}{told(rounds[-1])}")
    medians = [statistics.median(column) for column in zip(*rounds, strict=True)]
    print(f"{'all':>5}{told(medians)}   medians")


def told(times: list[float]) -> str:
    """Three times, and how the first two compare with the last."""
    check, advised, parse = times
    return (
        f"{check:>6.2f} s{advised:>12.2f} s{parse:>14.2f} s"
        f"{check / parse:>8.2f}{advised / parse:>14.2f}"
    )


if __name__ == "__main__":
    main()
