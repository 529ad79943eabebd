"""What linting found, for programs: JSON and SARIF."""

import json

import pytest

from orchq.lint import Fault, LintReport
from orchq.report.lint_report import lint_json, lint_sarif, lint_text

from .test_sarif import VALIDATOR

IN_FILE = Fault("undefined-term", "violation", "my.ttl", 7, "x:limit", "oq:wrong is no term {0}")
NOWHERE = Fault("unsatisfiable-class", "violation", "ontology", None, "oq:Nothing", "empty")
NOTHING = LintReport(("my.ttl",), ())
FAULTS = LintReport(("my.ttl", "other.ttl"), (IN_FILE, NOWHERE))


@pytest.mark.parametrize("report", [NOTHING, FAULTS, LintReport((), ())])
def test_sarif_conforms_to_the_schema(report):
    VALIDATOR.validate(json.loads(lint_sarif(report)))


def test_sarif_tells_file_and_line_where_there_are_any():
    (run,) = json.loads(lint_sarif(FAULTS))["runs"]
    in_file, nowhere = run["results"]
    (location,) = in_file["locations"]
    assert location["physicalLocation"]["region"] == {"startLine": 7}
    assert location["physicalLocation"]["artifactLocation"]["uri"] == "my.ttl"
    assert nowhere["locations"] == []
    assert (in_file["ruleId"], in_file["level"]) == ("undefined-term", "error")


def test_json_leaves_no_fault_out():
    files = json.loads(lint_json(FAULTS))["files"]
    told = {file["file"]: [fault["rule"] for fault in file["findings"]] for file in files}
    assert told == {
        "my.ttl": ["undefined-term"],
        "other.ttl": [],
        "ontology": ["unsatisfiable-class"],
    }


def test_text_is_a_line_for_each_fault():
    first, second, count = lint_text(FAULTS).splitlines()
    assert first.startswith("my.ttl:7: violation: ")
    assert second.startswith("ontology: violation: ")
    assert count == "2 faults"
