"""Measure attested limits on half of the composers, and see how much of the others lies beyond.

    python tests/benchmarks/split_half.py DIR [DIR ...]

Reads the tables that ``orchq survey`` wrote into the folders, halves the composers at random
several times, with fixed seeds, and both ways. For each kind of limit it prints how many notes of
the other half were measured, the share of them that lies beyond the limits of the first half, and
the same as a share of all notes of the other half; a note that is measured for several limits
counts for each. At most 0.5% is the goal. How many notes the first half has no limit for is told
beside it.
"""

import random
import sys
from collections import Counter
from pathlib import Path

import orchq
from orchq.survey.attesting import ORCHESTRAL, Attested, attest
from orchq.survey.rows import Work
from orchq.survey.sightings import Sighting, Sightings, Subject
from orchq.survey.stored_surveys import read_surveys

SEEDS = range(10)


def halves(composers: list[str]) -> list[tuple[set[str], set[str]]]:
    """Each seed's two halves, and the same the other way round."""
    found = []
    for seed in SEEDS:
        shuffled = random.Random(seed).sample(composers, len(composers))  # noqa: S311 - no secret
        one, other = set(shuffled[::2]), set(shuffled[1::2])
        found += [(one, other), (other, one)]
    return found


def limit_for(sighting: Sighting, limits: dict[tuple[Subject, bool], Attested]) -> Attested | None:
    """The limit that a check would ask about this passage."""
    return limits.get((sighting.subject, sighting.section))


def main() -> None:
    """Measure and print."""
    if len(sys.argv) < 2:
        sys.exit(__doc__)
    tables = read_surveys(map(Path, sys.argv[1:]))
    sightings = list(Sightings(orchq.load()).of(tables))
    works = [row for row in tables["works"] if isinstance(row, Work) and row.composer]
    composers = sorted({row.composer for row in works})
    seen, beyond, unjudged = Counter[str](), Counter[str](), Counter[str]()
    notes = 0
    worst = 0.0
    for one, other in halves(composers):
        limits = {
            (limit.subject, limit.level == ORCHESTRAL): limit
            for limit in attest(each for each in sightings if each.composer in one)
        }
        outside = Counter[str]()
        for sighting in (each for each in sightings if each.composer in other):
            kind = sighting.subject.kind
            limit = limit_for(sighting, limits)
            if limit is None:
                unjudged[kind] += sighting.notes
                continue
            seen[kind] += sighting.notes
            outside[kind] += sighting.notes * (not limit.holds(sighting))
        beyond += outside
        played = sum(row.notes for row in works if row.composer in other)
        notes += played
        worst = max(worst, *(count / played for count in outside.values()), 0.0)
    print(f"{len(composers)} composers, {len(works)} works, {len(SEEDS)} splits, both ways")
    print("  measured    beyond  of measured  of all notes  without limit  kind")
    for kind in sorted(seen | unjudged):
        share = beyond[kind] / seen[kind] if seen[kind] else 0.0
        print(
            f"{seen[kind]:>10}  {beyond[kind]:>8}  {share:>11.3%}  {beyond[kind] / notes:>12.4%}"
            f"  {unjudged[kind]:>13}  {kind}"
        )
    whole = beyond.total() / seen.total()
    print(
        f"{whole:.3%} of what was measured lies beyond, {beyond.total() / notes:.3%} of all notes"
    )
    print(f"worst kind in any split: {worst:.3%} of all notes of the other half")


if __name__ == "__main__":
    main()
