"""Proposals applied again to whole scores, written out as triples and checked as any excerpt is."""

from collections.abc import Iterable, Mapping
from pathlib import Path

from pyoxigraph import RdfFormat, serialize

import orchq
from orchq.advice import Rewriting
from orchq.excerpt import score_quads
from orchq.knowledge import Knowledge
from orchq.rules.finding import FileReport, Finding
from orchq.score import Score

Told = set[tuple[str, str, str]]
"""Grave findings as (rule, severity, event)."""
Pair = tuple[Finding, Rewriting]


def rounds(found: Iterable[Pair]) -> list[list[Pair]]:
    """Share rewritings out so that in one round each part is rewritten once at most."""
    shared: list[tuple[set[str], list[Pair]]] = []
    for finding, rewriting in found:
        parts = {iri for iri, _ in rewriting.candidate.edits}
        for taken, pairs in shared:
            if taken.isdisjoint(parts):
                taken.update(parts)
                pairs.append((finding, rewriting))
                break
        else:
            shared.append((parts, [(finding, rewriting)]))
    return [pairs for _, pairs in shared]


def told(report: FileReport) -> Told:
    """The violations and warnings of a report."""
    return {(f.rule, f.severity, f.event) for f in report.findings if f.severity != "info"}


def faults_when_reapplied(
    score: Score,
    report: FileReport,
    found: Mapping[int, Iterable[Rewriting]],
    knowledge: Knowledge,
    folder: Path,
    *,
    level: str | None = None,
) -> list[tuple[str, str, object]]:
    """Apply every rewriting to the score and check it publicly; return what is not as claimed.

    A fault is a finding that is told still, or a violation or warning that was not there before.
    ``level`` is that of the check.
    """
    before = told(report)
    pairs = [(report.findings[n], each) for n, several in found.items() for each in several]
    faults: list[tuple[str, str, object]] = []
    for number, pairs_of_round in enumerate(rounds(pairs)):
        rewritten = score
        for _, rewriting in pairs_of_round:
            rewritten = rewriting.apply(rewritten)
        file = folder / f"round{number}.ttl"
        triples = (quad.triple for quad in score_quads(rewritten))
        file.write_bytes(serialize(triples, format=RdfFormat.TURTLE) or b"")
        after = told(orchq.check(file, knowledge=knowledge, level=level, advice=False))
        left = {(rule, event) for rule, _, event in after}
        faults += [
            (finding.rule, rewriting.candidate.do, "is told still")
            for finding, rewriting in pairs_of_round
            if (finding.rule, finding.event) in left
        ]
        faults += [(rule, event, "is new") for rule, _, event in after - before]
    return faults
