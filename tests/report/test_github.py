import re

import pytest

from orchq.report.github import github_report

# How GitHub's runner reads a log, from memory: lines end with CR or LF; what begins with :: is a
# command; its properties end at the next :: and are parted at commas; only these codes are turned
# back. Older runners also took ##[name] anywhere in a line.
COMMAND = re.compile(r"::(?P<name>[a-z]+) (?P<properties>[^\r\n]*?)::(?P<data>.*)")
CODES = {"%0D": "\r", "%0A": "\n", "%3A": ":", "%2C": ",", "%25": "%"}
OLD_COMMAND = re.compile(r"##\w*\[")


def commands_of(outcome):
    """What the runner takes from the report: name, properties and data of every command."""
    text = github_report(outcome)
    *lines, last = re.split("\r\n|\r|\n", text)
    assert last == ""
    commands = []
    for line in lines:
        found = COMMAND.fullmatch(line)
        assert found, line
        pairs = (pair.split("=", 1) for pair in found["properties"].split(","))
        properties = {key: plain(value) for key, value in pairs}
        commands.append((found["name"], properties, plain(found["data"])))
    return commands


def plain(text):
    return re.sub("%(?:0D|0A|3A|2C|25)", lambda code: CODES[code[0]], text)


def test_nothing_found_is_nothing_said(make_outcome):
    assert github_report(make_outcome()) == ""


def test_a_finding_is_a_command_at_its_line(make_outcome, make_finding):
    ((name, properties, data),) = commands_of(make_outcome(make_finding(line=40)))
    assert name == "error"
    assert properties == {
        "file": "piece.musicxml",
        "line": "40",
        "title": "note-below-lowest-string",
    }
    assert data.startswith("Violin I, m. 12, beat 3: ")
    assert "Somebody, p. 7" in data


def test_the_gravest_come_first_of_all_files(make_outcome, make_finding):
    findings = [make_finding(severity=each) for each in ("info", "warning", "violation")]
    commands = commands_of(make_outcome(*findings, unread=True))
    assert [name for name, _, _ in commands] == ["error", "error", "warning", "notice"]


def test_what_cannot_be_read_is_an_error_at_its_line(make_outcome):
    ((name, properties, data),) = commands_of(make_outcome(unread=True))
    assert name == "error"
    assert properties["file"] == "broken.mxl"
    assert properties["line"] == "1"
    assert data == "line one is no score"


def test_accepted_findings_are_counted(make_outcome, make_accepted):
    accepted = (make_accepted("excerpt"), make_accepted("baseline"))
    ((name, _, data),) = commands_of(make_outcome(accepted=accepted))
    assert name == "notice"
    assert data == "2 findings accepted"


def test_every_outcome_is_commands_and_nothing_else(outcome):
    expected = len(outcome.unread) + sum(
        len(report.findings) + bool(report.accepted) for report in outcome.reports
    )
    assert len(commands_of(outcome)) == expected


@pytest.mark.parametrize("name", ["a::b,c.ttl", "50%0A.ttl", "line\r\nbreak.ttl", "::error::.ttl"])
def test_the_name_of_a_file_comes_back_whole(make_outcome, make_finding, name):
    ((_, properties, _),) = commands_of(make_outcome(make_finding(), file=name))
    assert properties["file"] == name


@pytest.mark.parametrize(
    "hostile",
    ["x\n::add-mask::e", "x\r::stop-commands::t", "x\u2028::error::", "%0A::error::y",
     "::set-output name=a::b", "##[add-path]/tmp", "##vso[task.setvariable]x"],
)  # fmt: skip
def test_no_text_of_a_score_begins_a_command(make_outcome, make_finding, hostile):
    finding = make_finding(message=hostile, part=hostile, measure=hostile, rule=hostile)
    outcome = make_outcome(finding, unread=True)
    ((_, unread, _), (name, properties, data)) = commands_of(outcome)
    assert name == "error"
    assert set(properties) == {"file", "title"}
    assert data.count("\n") == 1  # who says so
    assert not OLD_COMMAND.search(github_report(outcome))
    assert unread["file"] == "broken.mxl"
