"""Two engines, one truth: ``python -m tests.engines.many --excerpts 5000 SCORES --windows 50``.

All rules over excerpts made at random, and over passages of some 500 notes cut from the scores in a
folder, by the engine of the check and by Rudof, which shares no code with it. A difference is
printed, and the command ends with 1.
"""

import argparse
import random
import sys
from collections import Counter
from collections.abc import Iterator, Sequence
from fractions import Fraction
from pathlib import Path

from hypothesis import HealthCheck, given, seed, settings
from msgspec.structs import replace
from pyoxigraph import Quad, RdfFormat, Store, serialize

from orchq import read
from orchq.advice.cutting import cut
from orchq.derive.derivation import derive
from orchq.derive.staves import staves_of
from orchq.errors import OrchqError
from orchq.excerpt import score_quads
from orchq.knowledge.whole import whole_ontology
from orchq.rules.engine import run_fast
from orchq.rules.node_names import NodeNames
from orchq.rules.plain import plain_shapes
from orchq.score import Score
from tests.engines.test_agreement import KNOWLEDGE, SHAPES, several
from tests.engines.test_outside import rudof

PLAIN = serialize(plain_shapes(KNOWLEDGE), format=RdfFormat.TURTLE).decode()
GRAPH = tuple(whole_ontology(KNOWLEDGE.quads))
TOGETHER = 25
"""Random excerpts in one graph."""
NOTES = 500


class Comparison:
    """What both engines found in the graphs so far, and where they differ."""

    def __init__(self) -> None:
        self.excerpts = self.notes = self.differences = 0
        self.found: Counter[str] = Counter()

    def add(self, scores: Sequence[Score]) -> None:
        """Let both judge these scores in one graph."""
        triples = dict.fromkeys(GRAPH)
        for score in scores:
            derivation = derive(score, KNOWLEDGE)
            words = NodeNames(KNOWLEDGE, derivation.whole).quads()
            added = (*score_quads(score), *derivation.quads, *words)
            triples |= dict.fromkeys(quad.triple for quad in added)
        store = Store()
        store.bulk_extend(Quad(*triple) for triple in triples)
        ours = {(row.focus, row.shape.iri): row.shape.rule_slug for row in run_fast(store, SHAPES)}
        data = serialize(triples, format=RdfFormat.N_TRIPLES).decode()
        theirs = {(focus, shape) for focus, shape, _ in rudof(data, PLAIN)}
        for focus, shape in sorted(ours.keys() ^ theirs):
            finder = "orchq" if (focus, shape) in ours else "Rudof"
            print(f"only {finder} finds {shape} at {focus}", flush=True)
        self.excerpts += len(scores)
        self.notes += sum(score.note_count for score in scores)
        self.differences += len(ours.keys() ^ theirs)
        self.found.update(ours.values())

    def __str__(self) -> str:
        of = len({shape.rule_slug for shape in SHAPES})
        return (
            f"{self.excerpts} excerpts, {self.notes} notes: {self.found.total()} results of"
            f" {len(self.found)} of {of} rules, {self.differences} differences"
        )


def made_at_random(count: int, seed_: int) -> Comparison:
    """Compare on excerpts as the tests make them."""
    comparison = Comparison()

    @seed(seed_)
    @settings(
        max_examples=-(-count // TOGETHER),
        deadline=None,
        database=None,
        suppress_health_check=list(HealthCheck),
    )
    @given(several(TOGETHER))
    def compare(scores: tuple[Score, ...]) -> None:
        if comparison.excerpts < count:
            comparison.add(scores)

    compare()
    return comparison


def windows(folder: Path, count: int, seed_: int) -> Iterator[Score]:
    """Passages of at least so many notes, each from another score as long as there are any."""
    chance = random.Random(seed_)  # noqa: S311
    files = sorted(path for path in folder.rglob("*") if path.suffix in {".mxl", ".musicxml"})
    chance.shuffle(files)
    for number in range(count):
        try:
            yield _window(read(files[number % len(files)]), chance)
        except OrchqError as error:
            print(error, file=sys.stderr)


def _window(score: Score, chance: random.Random) -> Score:
    staves = staves_of(score, KNOWLEDGE)
    onsets = sorted(
        event.onset for part in score.parts for event in part.events for _ in event.notes
    )
    first = chance.randrange(max(1, len(onsets) - NOTES))
    start = onsets[first] if onsets else Fraction(0)
    end = onsets[first + NOTES] if first + NOTES < len(onsets) else Fraction(10**9)
    parts = (
        cut(part, staves.get(part.iri, ()), start, max(end, start + 1)) for part in score.parts
    )
    return replace(score, parts=tuple(parts))


def main() -> int:
    """Run what the command line asks for."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("scores", nargs="?", type=Path, help="a folder of MusicXML")
    parser.add_argument("--excerpts", type=int, default=5000)
    parser.add_argument("--windows", type=int, default=50)
    parser.add_argument("--seed", type=int, default=1)
    asked = parser.parse_args()
    differences = 0
    if asked.excerpts:
        comparison = made_at_random(asked.excerpts, asked.seed)
        print(f"random: {comparison}", flush=True)
        differences += comparison.differences
    if asked.scores:
        comparison = Comparison()
        for score in windows(asked.scores, asked.windows, asked.seed):
            comparison.add([score])
        print(f"windows: {comparison}", flush=True)
        differences += comparison.differences
    return int(differences > 0)


if __name__ == "__main__":
    sys.exit(main())
