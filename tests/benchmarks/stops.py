"""How many distinct shapes the stop solver grades in a second on one core.

    python tests/benchmarks/stops.py [SHAPES] [--with EXT.ttl ...]

Draws distinct shapes of two to four notes, each note up to an octave and a tone above some open
string, for each instrument of the graph, and solves every shape once with a fresh solver: what
is printed is the rate without help from the cache, then the rate when all are asked again.
Processor seconds, so that other work on the machine counts little.
"""

import argparse
import random
import time
from pathlib import Path

from orchq.derive.hand import HandModel, StopSolver, hand_model
from orchq.knowledge import load


def shapes(model: HandModel, count: int, chance: random.Random) -> list[tuple[int, ...]]:
    """Distinct sets of sounding pitches, most of them of three notes."""
    drawn: set[tuple[int, ...]] = set()
    while len(drawn) < count:
        size = chance.choice((2, 3, 3, 4))
        notes = (chance.choice(model.strings) + chance.randrange(14) for _ in range(size))
        drawn.add(tuple(sorted(notes)))
    return sorted(drawn)


def rate(solver: StopSolver, asked: list[tuple[int, ...]]) -> float:
    """Shapes per processor second."""
    started = time.process_time()
    for shape in asked:
        solver.solve(shape)
    return len(asked) / (time.process_time() - started)


def main() -> None:
    """Measure each instrument and print its rates."""
    parser = argparse.ArgumentParser(description=__doc__.split("\n")[0])
    parser.add_argument("shapes", nargs="?", type=int, default=6000)
    parser.add_argument("--with", dest="extensions", nargs="*", type=Path, default=[])
    options = parser.parse_args()
    knowledge = load(options.extensions)
    print("instrument      new shapes/s  known shapes/s")
    for instrument in knowledge.instruments.values():
        model = hand_model(knowledge, instrument)
        asked = shapes(model, options.shapes, random.Random(1))  # noqa: S311 (no secrets here)
        solver = StopSolver(model)
        print(f"{instrument.slug:14}  {rate(solver, asked):12,.0f}  {rate(solver, asked):14,.0f}")


if __name__ == "__main__":
    main()
