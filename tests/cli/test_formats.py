"""The formats for CI servers, from files to text, with real checks."""

import json
from pathlib import Path

import jsonschema
import pytest
from lxml import etree

import orchq

DATA = Path(__file__).parents[1] / "report" / "data"
FORMATS = ("sarif", "junit", "github")
SILENT = """\
@prefix oq: <https://w3id.org/orchq/> .

<https://example.org/quiet> a oq:Part ;
    oq:partName "Viola" ; oq:forInstrument oq:viola ; oq:hasEvent <https://example.org/quiet#e1> .

<https://example.org/quiet#e1> a oq:Event ;
    oq:measureIndex 0 ; oq:beat 1 ; oq:onset 0 ; oq:duration 1 ; oq:hasNote [
        a oq:Note ; oq:pitch "C4" ] .
"""


def valid(written, report_format):
    """Whether a report conforms to its schema; of annotations that each line is a command."""
    if report_format == "sarif":
        schema = json.loads((DATA / "sarif-schema-2.1.0.json").read_text("utf-8"))
        jsonschema.Draft4Validator(schema).validate(json.loads(written))
    elif report_format == "junit":
        etree.XMLSchema(etree.parse(DATA / "junit-10.xsd")).assertValid(
            etree.fromstring(written.encode())
        )
    else:
        assert all(line.startswith("::") for line in written.splitlines())
    return True


@pytest.fixture
def quiet(tmp_path):
    path = tmp_path / "quiet.ttl"
    path.write_text(SILENT)
    return path


@pytest.fixture
def broken(tmp_path):
    path = tmp_path / "broken.ttl"
    path.write_text("@prefix oq: <https://w3id.org/orchq/> .\n\nthis is no Turtle\n")
    return path


@pytest.mark.long
@pytest.mark.parametrize("report_format", FORMATS)
def test_findings_nothing_and_unreadable_inputs(run, quiet, broken, report_format):
    for files, code in (
        ([orchq.demo_path()], 1),
        ([quiet], 0),
        ([quiet, broken], 2),
        ([broken], 2),
        ([broken, orchq.demo_path()], 2),
    ):
        outcome = run("check", *files, "--format", report_format)
        assert outcome.code == code
        assert valid(outcome.out, report_format)
        assert ("broken.ttl" in outcome.out) == (broken in files)


@pytest.mark.parametrize("report_format", FORMATS)
def test_a_fault_of_ours_is_in_the_report_as_well(run, checker, score, report_format):
    checker()
    outcome = run("check", score("buggy.musicxml"), "--format", report_format)
    assert outcome.code == 2
    assert valid(outcome.out, report_format)
    assert "buggy.musicxml" in outcome.out
    assert "KeyError" in outcome.out


@pytest.mark.long
@pytest.mark.parametrize("report_format", FORMATS)
def test_reports_tell_the_findings_of_the_check(run, report_format):
    told = sorted(finding.rule for finding in orchq.check(orchq.demo_path()).findings)
    text = run("check", orchq.demo_path(), "--format", report_format, "--fail-on", "info").out
    if report_format == "sarif":
        found = [each["ruleId"] for each in json.loads(text)["runs"][0]["results"]]
    elif report_format == "junit":
        cases = etree.fromstring(text.encode()).iterfind(".//testcase[failure]")
        found = [case.get("name").partition(",")[0] for case in cases]
    else:
        found = [line.partition("title=")[2].partition("::")[0] for line in text.splitlines()]
    assert sorted(found) == told


def test_lines_are_those_of_the_file(run):
    text = orchq.demo_path().read_text("utf-8").splitlines()
    report = json.loads(run("check", orchq.demo_path(), "--format", "sarif").out)
    for result in report["runs"][0]["results"]:
        region = result["locations"][0]["physicalLocation"]["region"]
        assert text[region["startLine"] - 1].strip().startswith("<note")


def test_only_the_rules_that_were_run_are_told(run, quiet):
    chosen = "note-below-lowest-string"
    report = json.loads(run("check", quiet, "--format", "sarif", "--rules", chosen).out)
    (rule,) = report["runs"][0]["tool"]["driver"]["rules"]
    assert rule["id"] == chosen


def test_the_place_of_a_fault_in_an_input_is_told(run, broken):
    out = run("check", broken, "--format", "github").out
    assert ",line=3," in out


def test_accepted_findings_make_the_round_trip(run, quiet):
    low = quiet.read_text().replace('"C4"', '"B2"')
    event = "<https://example.org/quiet#e1>"
    rule = "<https://w3id.org/orchq/rule/note-below-lowest-string>"
    accepted = f"\n[] a oq:Acceptance ;\n oq:acceptsRule {rule} ;\n oq:acceptedOn {event} ;\n"
    quiet.write_text(low)
    before = json.loads(run("check", quiet, "--format", "sarif").out)["runs"][0]["results"]
    quiet.write_text(f'{low}{accepted} oq:reason "the string is tuned down" .\n')
    outcome = run("check", quiet, "--format", "sarif")
    assert outcome.code == 0
    (result,) = json.loads(outcome.out)["runs"][0]["results"]
    (suppression,) = result["suppressions"]
    assert suppression["kind"] == "inSource"
    assert suppression["justification"] == "the string is tuned down"
    assert [each["partialFingerprints"] for each in before] == [result["partialFingerprints"]]
    junit = run("check", quiet, "--format", "junit").out
    assert "the string is tuned down" in junit
    assert etree.fromstring(junit.encode()).get("failures") == "0"
    assert "1 finding accepted" in run("check", quiet, "--format", "github").out
