"""Everything that is wrong with an excerpt is listed, each with its line, in every report."""

import json
import xml.etree.ElementTree as ET

import pytest

from orchq import OrchqError, Project, export, format_report
from orchq.errors import MalformedError

BROKEN = """\
@prefix oq: <https://w3id.org/orchq/> .
@prefix my: <https://example.org/passage#> .
@prefix xsd: <http://www.w3.org/2001/XMLSchema#> .

my:violas a oq:Part ;
    oq:forInstrument oq:viola ;
    oq:isSection "maybe"^^xsd:boolean ;
    oq:hasEvent my:first .

my:first a oq:Event ;
    oq:measureIndex 0 ;
    oq:onset "abc"^^xsd:integer ;
    oq:duration 1 ;
    oq:hasNote my:b2 , my:nothing .

my:b2 a oq:Note ;
    oq:pitch "H2" .
"""
LINES = {7: "oq:isSection", 12: "oq:onset", 14: "oq:hasNote", 17: "oq:pitch"}
STATED = """\
@prefix oq: <https://w3id.org/orchq/> .
@prefix my: <https://example.org/passage#> .

my:violas a oq:Part ;
    oq:dynamicRank 3 .

my:kind a oq:BowStroke .

oq:spiccato oq:availableOn oq:viola .
"""


@pytest.fixture
def outcome(tmp_path):
    path = tmp_path / "broken.ttl"
    path.write_text(BROKEN, encoding="utf-8")
    return Project(advice=False).check(path)


def test_each_fault_has_its_line(outcome):
    (unread,) = outcome.unread
    assert {fault.line for fault in unread.faults} == set(LINES)
    for fault in unread.faults:
        assert LINES[fault.line] in fault.reason


def test_json_names_them(outcome):
    (file,) = json.loads(format_report(outcome, "json"))["files"]
    assert [fault["line"] for fault in file["faults"]] == sorted(LINES)
    assert file["line"] == min(LINES)


def test_sarif_has_a_notification_for_each(outcome):
    (run,) = json.loads(format_report(outcome, "sarif"))["runs"]
    (invocation,) = run["invocations"]
    regions = [
        told["locations"][0]["physicalLocation"]["region"]["startLine"]
        for told in invocation["toolExecutionNotifications"]
        if told["level"] == "error"
    ]
    assert regions == sorted(LINES)


def test_junit_and_annotations_name_them(outcome):
    (error,) = ET.fromstring(format_report(outcome, "junit")).iter("error")  # noqa: S314 - our own
    assert all(f"line {line}: " in error.text for line in LINES)
    annotations = format_report(outcome, "github").splitlines()
    assert len(annotations) == len(LINES)
    for line, told in zip(sorted(LINES), annotations, strict=True):
        assert f"line={line}" in told


def test_other_commands_name_them_too(tmp_path):
    path = tmp_path / "broken.ttl"
    path.write_text(BROKEN, encoding="utf-8")
    with pytest.raises(MalformedError) as raised:
        export(path)
    assert len(str(raised.value).splitlines()) == len(LINES)


def test_statements_that_are_for_an_extension_are_all_named(tmp_path):
    path = tmp_path / "stated.ttl"
    path.write_text(STATED, encoding="utf-8")
    with pytest.raises(OrchqError) as raised:
        export(path)
    assert [line.split(":")[1] for line in str(raised.value).splitlines()] == ["5", "7", "9"]
