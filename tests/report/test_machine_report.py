import json
from importlib.metadata import version

from orchq.evidence import Evidence
from orchq.project import Outcome
from orchq.report.machine import json_report
from orchq.rules.finding import Accepted, Proposal, ValidationResult
from orchq.rules.gathering import gathered

# The keys that programs rely on, in the order in which they are written.
FILE = [
    "file",
    "title",
    "composer",
    "notes",
    "parts",
    "findings",
    "accepted",
    "remarks",
    "settings",
    "seconds",
]
PART = ["name", "id", "index", "instrument", "checked", "level"]
FINDING = [
    "rule",
    "severity",
    "part",
    "part_id",
    "part_index",
    "measure",
    "measure_index",
    "beat",
    "notes",
    "event",
    "places",
    "message",
    "evidence",
    "instead",
]
PLACE = ["measure", "measure_index", "beat", "notes", "event", "results"]


def test_the_object_has_exactly_the_promised_keys(make_finding, make_report):
    finding = make_finding(instead=(Proposal("give it to the violas", True),))
    document = json.loads(json_report(Outcome((make_report(finding),))))
    assert list(document) == ["orchq", "extensions", "files"]
    assert document["orchq"] == version("orchq")
    (file,) = document["files"]
    assert list(file) == FILE
    assert [list(part) for part in file["parts"]] == [PART] * 3
    (found,) = file["findings"]
    assert list(found) == ["number", *FINDING]
    assert [list(place) for place in found["places"]] == [PLACE]
    assert list(found["evidence"][0]) == ["limit", "source", "locator", "basis"]
    assert found["instead"] == [{"do": "give it to the violas", "verified": True}]
    assert list(file["seconds"]) == ["read", "derive", "rules"]


def test_findings_of_one_cause_are_one_object_with_its_places(make_finding, make_report):
    result = ValidationResult("https://example.org/n", "https://example.org/shape", "too low")
    findings = [
        make_finding(measure=str(n), measure_index=n - 1, event=f"e{n}", results=(result,))
        for n in (12, 14)
    ]
    report = gathered(make_report(*findings, make_finding(severity="warning")))
    (file,) = json.loads(json_report(Outcome((report,))))["files"]
    assert [each["number"] for each in file["findings"]] == [1, 2]
    many, one = file["findings"]
    places = [(p["measure"], p["measure_index"], p["event"]) for p in many["places"]]
    assert places == [("12", 11, "e12"), ("14", 13, "e14")]
    rests_on = [{"focus": "https://example.org/n", "shape": "https://example.org/shape"}]
    assert [place["results"] for place in many["places"]] == [rests_on] * 2
    assert len(one["places"]) == 1


def test_values_are_carried_unchanged(make_finding, make_report):
    hostile = 'A "name" with [markup], \x1b[2J and ü\u202e'
    finding = make_finding(message=hostile, beat=1.5, notes=("G3", "D4"))
    text = json_report(Outcome((make_report(finding),)))
    assert text.isascii()
    assert "\x1b" not in text
    (file,) = json.loads(text)["files"]
    assert file["findings"][0]["message"] == hostile
    assert file["findings"][0]["beat"] == 1.5
    assert file["findings"][0]["notes"] == ["G3", "D4"]
    assert file["notes"] == 312


def test_seconds_have_three_decimals(make_report):
    (file,) = json.loads(json_report(Outcome((make_report(),))))["files"]
    assert file["seconds"] == {"read": 0.123, "derive": 0.2, "rules": 0.1}


def test_parts_not_checked_are_listed_without_instrument(make_report):
    (file,) = json.loads(json_report(Outcome((make_report(),))))["files"]
    assert [part["checked"] for part in file["parts"]] == [True, True, False]
    assert file["parts"][2]["instrument"] is None


def test_a_basis_is_written_in_words(make_finding, make_report):
    evidence = Evidence("limit", "", "", "common-practice", "")
    text = json_report(Outcome((make_report(make_finding(evidence=(evidence,))),)))
    found = json.loads(text)["files"][0]["findings"][0]
    assert found["evidence"][0]["basis"] == "common practice"


def test_what_is_accepted_is_told_with_its_reason(make_finding, make_report):
    accepted = Accepted(make_finding(), "asked for", "settings")
    report = make_report(accepted=(accepted,), remarks=("one",), settings="orchq.toml")
    (file,) = json.loads(json_report(Outcome((report,))))["files"]
    assert file["findings"] == []
    (written,) = file["accepted"]
    assert list(written) == [*FINDING, "reason", "where"]
    assert (written["reason"], written["where"]) == ("asked for", "settings")
    assert (file["remarks"], file["settings"]) == (["one"], "orchq.toml")


def test_a_changed_severity_tells_the_one_of_the_rule(make_finding, make_report):
    finding = make_finding(severity="info", changed_from="violation")
    (written,) = json.loads(json_report(Outcome((make_report(finding),))))["files"][0]["findings"]
    assert (written["severity"], written["changed_from"]) == ("info", "violation")
