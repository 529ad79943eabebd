from pathlib import Path

import pytest
from lxml import etree

from orchq.project import Outcome
from orchq.report.junit import junit_report

XSD = etree.XMLSchema(etree.parse(Path(__file__).parent / "data" / "junit-10.xsd"))


def root_of(outcome):
    root = etree.fromstring(junit_report(outcome).encode())
    XSD.assertValid(root)
    return root


def cases_of(outcome):
    """Every case as class, name and what came of it."""
    return [
        (case.get("classname"), case.get("name"), [child.tag for child in case])
        for case in root_of(outcome).iter("testcase")
    ]


def test_every_outcome_conforms_to_the_schema(outcome):
    root_of(outcome)


def test_no_file_at_all_conforms_to_the_schema():
    assert root_of(Outcome(())).get("tests") == "0"


def test_parts_without_failing_findings_pass_and_unknown_ones_are_skipped(make_outcome):
    assert cases_of(make_outcome()) == [
        ("piece.Violin I", "nothing fails", []),
        ("piece.Violin II", "nothing fails", []),
        ("piece.Flute", "nothing fails", ["skipped"]),
    ]


def test_a_failing_finding_is_a_failed_case(make_outcome, make_finding):
    assert cases_of(make_outcome(make_finding())) == [
        ("piece.Violin II", "nothing fails", []),
        ("piece.Flute", "nothing fails", ["skipped"]),
        ("piece.Violin I", "note-below-lowest-string, m. 12, beat 3: F3", ["failure"]),
    ]


@pytest.mark.parametrize(
    ("threshold", "failures"), [("never", 0), ("violation", 1), ("warning", 2), ("info", 3)]
)
def test_milder_findings_are_output_and_fail_nothing(
    make_outcome, make_finding, threshold, failures
):
    findings = [make_finding(severity=each) for each in ("violation", "warning", "info")]
    root = root_of(make_outcome(*findings, threshold=threshold))
    assert root.get("failures") == str(failures)
    told = "".join(root.itertext("system-out")).count("note-below-lowest-string")
    assert told == 3 - failures


def test_an_accepted_finding_is_skipped_with_its_reason(make_outcome, make_accepted):
    root = root_of(make_outcome(accepted=(make_accepted("settings", "asked the player"),)))
    assert root.get("failures") == "0"
    reasons = [skipped.get("message") for skipped in root.iter("skipped")]
    assert any("settings" in each and "asked the player" in each for each in reasons)


def test_what_cannot_be_read_is_an_error(make_outcome):
    root = root_of(make_outcome(unread=True))
    assert root.get("errors") == "1"
    (case,) = root.xpath("testsuite[@name='broken.mxl']/testcase[error]")
    assert case.get("classname") == "broken"


def test_counts_are_those_of_the_cases(make_outcome, make_finding, make_accepted):
    root = root_of(make_outcome(make_finding(), accepted=(make_accepted("baseline"),), unread=True))
    suite = root[1]
    assert [suite.get(each) for each in ("tests", "failures", "errors", "skipped")] == [
        "4", "1", "0", "2",
    ]  # fmt: skip
    assert [root.get(each) for each in ("tests", "failures", "errors")] == ["5", "1", "1"]


def test_a_dot_in_a_name_makes_no_folder(make_outcome):
    for classname, _, _ in cases_of(make_outcome(file="no. 1/movement.2.mxl")):
        assert classname.count(".") == 1


def test_text_of_a_score_stays_text(make_outcome, make_finding):
    hostile = "</failure><testcase name='x'/>\x00\ufffe&lt;"
    root = root_of(make_outcome(make_finding(message=hostile)))
    (failure,) = root.iter("failure")
    assert len(failure) == 0
    assert "</failure><testcase name='x'/>&lt;" in failure.text
