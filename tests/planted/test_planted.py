"""Mistakes planted in legal passages are found where they are, and nothing else is."""

from collections import Counter
from random import Random

import pytest

from orchq import catalogue, load
from orchq.rules.checking import check_score

from . import asking, pedalling, timing  # noqa: F401 - they register their planters
from .passages import Passage, passage, score_of
from .planting import ALL, PLANTS, Plant

KNOWLEDGE = load(["harp"])
INSTRUMENTS = {each.slug: each for each in KNOWLEDGE.instruments.values()}
SEEDS = range(5)
MORE_SEEDS = range(5, 12)

Told = dict[int, set[tuple[str, int]]]
"""Findings by part: (rule, measure index)."""


def _told(passages: list[Passage]) -> Told:
    score = score_of(passages)
    report = check_score(score, KNOWLEDGE, file="planted")
    told: Told = {made.index: set() for made in passages}
    for finding in report.findings:
        told[finding.part_index].add((finding.rule, finding.measure_index))
    return told


def _spoiled(seed: int) -> tuple[list[Passage], list[Plant], list[int]]:
    """A passage for each plant and instrument, spoiled, with the measures of the mistakes."""
    passages, planted, measures = [], [], []
    for plant in PLANTS:
        for slug in plant.instruments:
            index = len(passages)
            rng = Random(f"{seed} {plant.rule} {slug}")  # noqa: S311 - music, no secrets
            instrument = INSTRUMENTS[slug]
            made = passage(KNOWLEDGE, instrument, index, rng, section=plant.section)
            measures.append(plant.plant(made, rng))
            passages.append(made)
            planted.append(plant)
    return passages, planted, measures


@pytest.mark.parametrize("seed", [*SEEDS, *MORE_SEEDS])
def test_the_passages_are_legal(seed: int) -> None:
    passages = [
        passage(
            KNOWLEDGE,
            INSTRUMENTS[slug],
            index,
            Random(f"{seed} {slug} {index}"),  # noqa: S311 - music, no secrets
            section=bool(index % 2),
        )
        for index, slug in enumerate((*ALL, "harp") * 6)
    ]
    assert not any(_told(passages).values())


def test_every_rule_is_planted() -> None:
    assert {plant.rule for plant in PLANTS} == {rule.slug for rule in catalogue(KNOWLEDGE)}


@pytest.mark.parametrize(
    "seeds", [SEEDS, pytest.param(MORE_SEEDS, marks=pytest.mark.long)], ids=["few", "more"]
)
def test_planted_mistakes_are_found(seeds: range) -> None:
    found: Counter[str] = Counter()
    made: Counter[str] = Counter()
    strays = []
    for seed in seeds:
        passages, planted, measures = _spoiled(seed)
        told = _told(passages)
        for index, (plant, measure) in enumerate(zip(planted, measures, strict=True)):
            made[plant.rule] += 1
            found[plant.rule] += (plant.rule, measure) in told[index]
            others = told[index] - {(plant.rule, measure)}
            strays += [
                (seed, plant.rule, passages[index].instrument.slug, *other)
                for other in others
                if other[0] not in plant.follows
            ]
    missed = {rule: made[rule] - found[rule] for rule in made if found[rule] < made[rule]}
    assert sum(found.values()) >= 0.98 * sum(made.values()), missed
    assert not strays, Counter((rule, slug, other) for _, rule, slug, other, _ in strays)
