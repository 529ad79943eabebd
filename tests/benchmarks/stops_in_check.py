"""Share of stops in the time of checking a quartet movement.

    python tests/benchmarks/stops_in_check.py [FILE]

Checks a file, by default Beethoven's string quartet op. 18 no. 1, first movement, from the
corpus that the music21 package installs; then works out its stops again with empty caches, and
prints both in wall-clock seconds.
"""

import importlib.util
import sys
import time
from itertools import chain
from pathlib import Path

from orchq import check, load, read
from orchq.derive.hand.reach import reach_of
from orchq.derive.hand.solver import solver_for
from orchq.derive.staves import staves_of
from orchq.terms import oq


def movement() -> Path:
    """The file in the installed corpus."""
    spec = importlib.util.find_spec("music21")
    if spec is None or spec.origin is None:
        sys.exit("music21 is not installed: pip install music21")
    return Path(spec.origin).parent / "corpus" / "beethoven" / "opus18no1" / "movement1.mxl"


def main() -> None:
    """Time the check and the stops, and print what came out."""
    file = Path(sys.argv[1]) if len(sys.argv) > 1 else movement()
    knowledge = load()
    started = time.perf_counter()
    report = check(file, knowledge=knowledge)
    whole = time.perf_counter() - started
    score = read(file, knowledge=knowledge)
    solver_for.cache_clear()
    reach_of.cache_clear()
    took, count = 0.0, 0
    for staff in chain.from_iterable(staves_of(score, knowledge).values()):
        started = time.perf_counter()
        level_of = staff.around.level_of
        quads = list(staff.stops.quads(staff.part, staff.placed, level_of))
        took += time.perf_counter() - started
        count += sum(quad.predicate == oq("hasStop") for quad in quads)
    print(f"{report.notes} notes, {count} stops")
    print(f"check {whole:.3f} s, of which stops {took:.3f} s: {took / whole:.1%}")


if __name__ == "__main__":
    main()
