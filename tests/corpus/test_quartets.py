"""Quartets from the open corpus of the music21 package pass without false alarms.

The corpus is a set of transcriptions of printed editions; each violation that remains in these
movements is named here with what was found when it was looked at. The whole corpus is measured
by ``tests/benchmarks/quartet_corpus.py``.
"""

import importlib.util
from pathlib import Path

import pytest

import orchq

MOVEMENTS = {
    "beethoven/opus18no1/movement3": set(),
    "beethoven/opus59no2/movement2": set(),
    "haydn/opus1no1/movement3": set(),
    # B1, a semitone below the open C string: the printed part cannot mean it
    "haydn/opus74no1/movement4": {("note-below-lowest-string", "Cello", "273")},
    "mozart/k80/movement2": set(),
    "mozart/k155/movement1": set(),
    "mozart/k458/movement2": set(),
    "schumann_robert/opus41no1/movement2": set(),
}


def _corpus() -> Path:
    spec = importlib.util.find_spec("music21")
    if spec is None or spec.origin is None:
        pytest.skip("music21, which carries the scores, is not installed")
    return Path(spec.origin).parent / "corpus"


@pytest.mark.parametrize("movement", MOVEMENTS)
def test_a_quartet_movement(movement: str) -> None:
    report = orchq.check(_corpus() / f"{movement}.mxl")
    assert [part.instrument for part in report.parts] == ["violin", "violin", "viola", "cello"]
    violations = {
        (finding.rule, finding.part, finding.measure)
        for finding in report.findings
        if finding.severity == "violation"
    }
    assert violations == MOVEMENTS[movement]


@pytest.mark.long
def test_warnings_are_few() -> None:
    reports = [orchq.check(_corpus() / f"{movement}.mxl") for movement in MOVEMENTS]
    warnings = [f for report in reports for f in report.findings if f.severity == "warning"]
    assert len(warnings) <= 4 * sum(report.notes for report in reports) / 1000
