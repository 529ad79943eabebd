import json
from pathlib import Path

import jsonschema
import pytest

from orchq.project import Outcome
from orchq.report.sarif import SCHEMA, fingerprint, sarif_report

OASIS = json.loads((Path(__file__).parent / "data" / "sarif-schema-2.1.0.json").read_text("utf-8"))
VALIDATOR = jsonschema.Draft4Validator(OASIS, format_checker=jsonschema.FormatChecker())


def run_of(outcome):
    document = json.loads(sarif_report(outcome))
    VALIDATOR.validate(document)
    (run,) = document["runs"]
    return run


def test_the_schema_is_that_of_oasis():
    assert OASIS["id"] == SCHEMA
    assert "2.1.0" in OASIS["title"]


def test_every_outcome_conforms_to_the_schema(outcome):
    run_of(outcome)
    assert sarif_report(outcome).isascii()


def test_no_file_at_all_conforms_to_the_schema():
    run = run_of(Outcome(()))
    assert run["results"] == []


def test_a_finding_is_a_result_with_rule_level_and_place(make_outcome, make_finding):
    (result,) = run_of(make_outcome(make_finding(line=40)))["results"]
    assert result["ruleId"] == "note-below-lowest-string"
    assert result["ruleIndex"] == 0
    assert result["level"] == "error"
    (location,) = result["locations"]
    assert location["physicalLocation"] == {
        "artifactLocation": {"uri": "piece.musicxml", "uriBaseId": "%SRCROOT%"},
        "region": {"startLine": 40},
    }
    (logical,) = location["logicalLocations"]
    assert logical["fullyQualifiedName"] == "Violin I, m. 12, beat 3"
    assert result["properties"]["evidence"][0]["basis"] == "published"
    assert result["properties"]["evidence"][0]["source"] == "Somebody"


def test_severities_become_levels(make_outcome, make_finding):
    findings = [make_finding(severity=each) for each in ("violation", "warning", "info")]
    results = run_of(make_outcome(*findings))["results"]
    assert [result["level"] for result in results] == ["error", "warning", "note"]


def test_without_a_line_there_is_no_region(make_outcome, make_finding):
    (result,) = run_of(make_outcome(make_finding()))["results"]
    assert "region" not in result["locations"][0]["physicalLocation"]


def test_a_rule_is_told_with_its_help(make_outcome):
    (rule,) = run_of(make_outcome())["tool"]["driver"]["rules"]
    assert rule["id"] == "note-below-lowest-string"
    assert rule["defaultConfiguration"]["level"] == "error"
    assert "Give it to a lower instrument." in rule["help"]["text"]
    assert "helpUri" not in rule


def test_what_cannot_be_read_is_told_as_a_failed_execution(make_outcome):
    (invocation,) = run_of(make_outcome(unread=True))["invocations"]
    assert invocation["executionSuccessful"] is False
    (told,) = invocation["toolExecutionNotifications"]
    assert told["level"] == "error"
    place = told["locations"][0]["physicalLocation"]
    assert place["artifactLocation"]["uri"] == "broken.mxl"
    assert place["region"]["startLine"] == 1


def test_a_remark_of_the_reader_is_no_failure(make_outcome):
    (invocation,) = run_of(make_outcome(remarks=("a sign is not known",)))["invocations"]
    assert invocation["executionSuccessful"] is True
    assert [told["level"] for told in invocation["toolExecutionNotifications"]] == ["note"]


@pytest.mark.parametrize(
    ("where", "kind"),
    [("excerpt", "inSource"), ("settings", "external"), ("baseline", "external")],
)
def test_an_accepted_finding_is_suppressed_with_its_reason(
    make_outcome, make_finding, make_accepted, where, kind
):
    accepted = make_accepted(where, "asked the player", measure="14")
    stands, suppressed = run_of(make_outcome(make_finding(), accepted=(accepted,)))["results"]
    assert "suppressions" not in stands
    (suppression,) = suppressed["suppressions"]
    assert suppression["kind"] == kind
    assert suppression["status"] == "accepted"
    assert suppression["justification"] == "asked the player"
    assert suppressed["properties"]["measure"] == "14"


@pytest.mark.parametrize(
    "different",
    [{"message": "said otherwise"}, {"severity": "info"}, {"line": 9}, {"event": "renamed"},
     {"measure_index": 12}, {"part_id": "P7"}],
)  # fmt: skip
def test_a_fingerprint_outlives_words_and_lines(make_finding, different):
    assert fingerprint(make_finding(**different)) == fingerprint(make_finding())


@pytest.mark.parametrize(
    "different",
    [{"rule": "another"}, {"part": "Violin II"}, {"measure": "13"}, {"beat": 3.5},
     {"notes": ("E3",)}],
)  # fmt: skip
def test_a_fingerprint_tells_rule_and_place(make_finding, different):
    assert fingerprint(make_finding(**different)) != fingerprint(make_finding())


def test_findings_alike_have_fingerprints_of_their_own(make_outcome, make_finding):
    results = run_of(make_outcome(make_finding(), make_finding(event="other")))["results"]
    prints = [tuple(result["partialFingerprints"].values()) for result in results]
    assert len(set(prints)) == 2


def test_text_of_a_score_is_neither_link_nor_placeholder(make_outcome, make_finding):
    hostile = "[go](https://example.org) {0}"
    (result,) = run_of(make_outcome(make_finding(message=hostile)))["results"]
    assert "](" not in result["message"]["text"]
    assert "{{0}}" in result["message"]["text"]


def test_names_of_files_become_addresses(make_outcome, make_finding, tmp_path, monkeypatch):
    monkeypatch.chdir(tmp_path)

    def address(file):
        (artifact,) = run_of(make_outcome(file=file))["artifacts"]
        return artifact["location"]

    assert address("a b/ü:#?.ttl")["uri"] == "a%20b/%C3%BC%3A%23%3F.ttl"
    assert address(str(tmp_path / "in.ttl")) == address("in.ttl")
    outside = address(str(tmp_path.parent / "out.ttl"))
    assert outside == {"uri": (tmp_path.parent / "out.ttl").as_uri()}
