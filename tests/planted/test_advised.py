"""What is proposed against planted mistakes and those of the demo helps, and harms nothing."""

from collections import Counter
from pathlib import Path

import pytest
from msgspec.structs import replace

import orchq
from orchq.advice import Rewriting, Workbench, verified_rewritings
from orchq.rules.checking import check_score
from orchq.rules.finding import FileReport
from orchq.score import Score
from orchq.terms import OQ

from .passages import score_of
from .reapplying import faults_when_reapplied
from .test_planted import KNOWLEDGE, _spoiled

LONG = pytest.mark.long
SEEDS = (0, pytest.param(1, marks=LONG))
ENOUGH = 0.8
"""Share of violations that have to come with a verified proposal."""


def _advised(
    score: Score, level: str | None = None
) -> tuple[FileReport, dict[int, tuple[Rewriting, ...]]]:
    report = check_score(score, KNOWLEDGE, file="score", level=level)
    return report, verified_rewritings(report, Workbench(score, KNOWLEDGE, level=level))


def _without_help(report: FileReport, found: dict[int, tuple[Rewriting, ...]]) -> Counter[str]:
    return Counter(
        finding.rule
        for number, finding in enumerate(report.findings)
        if finding.severity == "violation" and not found.get(number)
    )


@pytest.fixture(scope="module", params=[*SEEDS, "demo"])
def score(request: pytest.FixtureRequest) -> Score:
    if request.param == "demo":
        return orchq.read(orchq.demo_path(), KNOWLEDGE)
    return _well_formed(score_of(_spoiled(request.param)[0]))


def _well_formed(score: Score) -> Score:
    """Without the slurs that lost an end when planting took notes away."""
    parts = []
    for part in score.parts:
        events = {event.iri for event in part.events}
        slurs = tuple(slur for slur in part.slurs if {slur.first, slur.last} <= events)
        parts.append(replace(part, slurs=slurs))
    return replace(score, parts=tuple(parts))


@pytest.mark.long
def test_violations_come_with_proposals_that_hold(score: Score, tmp_path: Path) -> None:
    report, found = _advised(score)
    violations = sum(finding.severity == "violation" for finding in report.findings)
    helpless = _without_help(report, found)
    assert violations >= 10
    assert violations - helpless.total() >= ENOUGH * violations, helpless
    assert all(len(several) <= 3 for several in found.values())
    assert faults_when_reapplied(score, report, found, KNOWLEDGE, tmp_path) == []


@pytest.mark.nightly
@pytest.mark.parametrize(
    "level", [pytest.param(each, marks=LONG) for each in ("student", "soloist")]
)
def test_proposals_hold_at_the_level_asked_for(level: str, tmp_path: Path) -> None:
    """A rewriting that holds for one player need not hold for another."""
    score = orchq.read(orchq.demo_path(), KNOWLEDGE)
    report, found = _advised(score, OQ + level)
    violations = sum(finding.severity == "violation" for finding in report.findings)
    helpless = _without_help(report, found)
    assert violations - helpless.total() >= ENOUGH * violations, helpless
    assert faults_when_reapplied(score, report, found, KNOWLEDGE, tmp_path, level=level) == []
