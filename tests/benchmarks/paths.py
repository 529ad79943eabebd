"""How many notes a second the path of the left hand takes on one core.

    python tests/benchmarks/paths.py [NOTES]

Walks at random along the violin's compass in notes of several lengths, once to warm up and once
more: the second time what steps cost is remembered. Processor seconds.
"""

import random
import sys
import time

from orchq.derive.hand import hand_model
from orchq.derive.path import PathSearch, Step, path_weights
from orchq.derive.path.moments import Moment
from orchq.derive.path.postures import Printed
from orchq.knowledge import load
from orchq.terms import OQ


def line(count: int, chance: random.Random) -> list[Step]:
    """A line that goes mostly by step, within three octaves."""
    pitch, steps = 69, []
    for _ in range(count):
        pitch += chance.choice((-7, -4, -3, -2, -2, -1, 1, 2, 2, 3, 4, 7))
        pitch = min(max(pitch, 55), 91)
        moment = Moment(
            chance.choice((1, 1, 2, 2, 3)),
            chance.choice((1, 2, 3)),
            chance.random() < 0.05,
            chance.random() < 0.4,
            chance.choice((0, 0, 1, 2)),
            chance.random() < 0.4,
            chance.random() < 0.3,
            chance.random() < 0.2,
        )
        steps.append(Step(((pitch,), (Printed(),)), moment))
    return steps


def main() -> None:
    count = int(sys.argv[1]) if len(sys.argv) > 1 else 20_000
    knowledge = load()
    violin = knowledge.instruments[OQ + "violin"]
    search = PathSearch(hand_model(knowledge, violin), path_weights(knowledge, violin))
    steps = line(count, random.Random(1))  # noqa: S311
    for name in ("first time", "after warm-up"):
        started = time.process_time()
        search.path(steps)
        seconds = time.process_time() - started
        print(f"{name}: {count / seconds:,.0f} notes a second")


if __name__ == "__main__":
    main()
