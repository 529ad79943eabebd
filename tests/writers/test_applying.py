"""Proposals carried out in MusicXML: the finding goes, nothing as grave comes, the rest stays."""

import re
from collections import Counter
from difflib import SequenceMatcher
from pathlib import Path

import pytest
from lxml import etree

import orchq
from orchq.errors import OrchqError
from orchq.project import Applied, Choice, Project
from orchq.writers.rewriting import NotWritableError
from tests.planted.as_musicxml import PlantedWriter
from tests.planted.passages import score_of
from tests.planted.test_advised import _well_formed
from tests.planted.test_planted import KNOWLEDGE, _spoiled

NIGHTLY = pytest.mark.nightly
EVERY_FOURTH, EVERY = 4, 1
SEEDS = [
    (0, EVERY_FOURTH),
    *(pytest.param((seed, EVERY), marks=NIGHTLY) for seed in range(20)),
]


@pytest.fixture(scope="module")
def project() -> Project:
    return Project(knowledge=KNOWLEDGE)


def _children(data: bytes) -> Counter[tuple[str, ...]]:
    """Every child of a measure, by part and measure, as canonical text."""
    root = etree.fromstring(data)
    return Counter(
        (part.get("id"), str(index), re.sub(rb"\s+", b"", etree.tostring(child, method="c14n")))
        for part in root.iter("part")
        for index, measure in enumerate(part)
        for child in measure
    )


def _changed_measures(before: bytes, after: bytes) -> set[tuple[str, str]]:
    one, other = _children(before), _children(after)
    return {key[:2] for key in (one - other) + (other - one)}


def _demo_choices() -> list[Choice]:
    report = Project(knowledge=KNOWLEDGE).check(orchq.demo_path()).reports[0]
    return [
        Choice(number, proposal)
        for number, finding in enumerate(report.findings, 1)
        for proposal in range(1, len(finding.instead) + 1)
    ]


@pytest.mark.sampled(3)
@pytest.mark.parametrize("proposal", [1, 2, 3])
def test_every_proposal_of_the_demo_is_carried_out(proposal: int, project: Project) -> None:
    before = orchq.demo_path().read_bytes()
    report = project.check(orchq.demo_path()).reports[0]
    choices = [choice for choice in _demo_choices() if choice.proposal == proposal]
    assert len(choices) >= 2
    applied = project.apply(orchq.demo_path(), choices)
    assert (applied.left, applied.new, applied.exit_code) == ((), (), 0)
    chosen = {choice.finding: report.findings[choice.finding - 1] for choice in choices}
    assert {change.finding: change.do for change in applied.corrections} == {
        number: finding.instead[proposal - 1].do for number, finding in chosen.items()
    }
    left = {(f.rule, f.part_index, f.measure_index) for f in applied.report.findings}
    for number, finding in enumerate(report.findings, 1):
        if finding.severity != "info":
            stays = (finding.rule, finding.part_index, finding.measure_index) in left
            assert stays == (number not in chosen), finding
    measures = {(f.part_id, str(f.measure_index)) for f in chosen.values()}
    changed = _changed_measures(before, applied.text)
    assert measures & changed
    assert len(changed) <= 2 * len(choices)


def test_all_but_the_change_is_byte_for_byte_the_same(project: Project) -> None:
    before = orchq.demo_path().read_bytes()
    applied = project.apply(orchq.demo_path(), ["4"])
    matched = SequenceMatcher(None, before.splitlines(), applied.text.splitlines(), autojunk=False)
    edits = [code for code in matched.get_opcodes() if code[0] != "equal"]
    assert len(edits) == 1
    _, first, last, *_ = edits[0]
    assert before.splitlines()[first:last] == [b"          <octave>3</octave>"]


@pytest.mark.long
def test_several_at_once_open_in_other_programs(project: Project, tmp_path: Path) -> None:
    music21 = pytest.importorskip("music21")
    verovio = pytest.importorskip("verovio")
    firsts = [str(c) for c in _demo_choices() if c.proposal == 1]
    applied = project.apply(orchq.demo_path(), firsts)
    assert applied.exit_code == 0
    assert all(f.severity == "info" for f in applied.report.findings)
    copy = tmp_path / "corrected.musicxml"
    copy.write_bytes(applied.text)
    read = music21.converter.parse(copy)
    assert len(read.parts) == 5
    toolkit = verovio.toolkit()
    assert toolkit.loadFile(str(copy))
    assert toolkit.getPageCount() >= 1


def _applied_or_refused(
    project: Project, path: Path, choices: list[Choice]
) -> tuple[list[Applied], Counter[str]]:
    """Carry out all that can be written; what cannot is refused one by one, with the reason."""
    try:
        return [project.apply(path, choices)], Counter()
    except NotWritableError as error:
        if len(choices) == 1:
            return [], Counter([str(error).rpartition(": ")[2]])
        half = len(choices) // 2
        first, refused = _applied_or_refused(project, path, choices[:half])
        second, also = _applied_or_refused(project, path, choices[half:])
        return first + second, refused + also


@pytest.mark.long
@pytest.mark.parametrize("seed", SEEDS)
def test_proposals_against_planted_mistakes_hold_in_musicxml(
    seed: tuple[int, int], project: Project, tmp_path: Path
) -> None:
    path = tmp_path / "planted.musicxml"
    score = _well_formed(score_of(_spoiled(seed[0])[0][:: seed[1]]))
    path.write_bytes(PlantedWriter(KNOWLEDGE).written(score))
    findings = project.check(path).reports[0].findings
    done, refused = [], Counter()
    for proposal in (1, 2, 3):
        choices = [
            Choice(number, proposal)
            for number, finding in enumerate(findings, 1)
            if len(finding.instead) >= proposal
        ]
        applied, not_written = _applied_or_refused(project, path, choices)
        done += applied
        refused += not_written
    corrections = sum(len(each.corrections) for each in done)
    assert corrections >= 100 / seed[1]
    assert [(f.rule, f.part) for each in done for f in (*each.left, *each.new)] == []
    assert refused.total() <= 0.05 * corrections, refused


@pytest.mark.sampled(3)
@pytest.mark.parametrize(
    ("choice", "reason"),
    [
        ("99", "no finding 99"),
        ("2", "has no proposals"),
        ("4.2", "has 1 proposal, and no number 2"),
        ("x", "names no proposal"),
        ("0", "names no proposal"),
        ("3.", "names no proposal"),
        ("-1", "names no proposal"),
    ],
)
def test_what_cannot_be_chosen_is_refused(choice: str, reason: str, project: Project) -> None:
    with pytest.raises(OrchqError, match=reason):
        project.apply(orchq.demo_path(), [choice])


def test_a_finding_is_chosen_once(project: Project) -> None:
    with pytest.raises(OrchqError, match="chosen twice"):
        project.apply(orchq.demo_path(), ["7.1", "7.2"])


def test_triples_cannot_be_rewritten(project: Project, tmp_path: Path) -> None:
    path = tmp_path / "piece.ttl"
    path.write_text(orchq.export(orchq.demo_path(), KNOWLEDGE), encoding="utf-8")
    with pytest.raises(OrchqError, match="no MusicXML"):
        project.apply(path, ["4"])
