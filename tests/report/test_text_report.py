import json
import re

import pytest
from rich.cells import cell_len

from orchq.evidence import Evidence
from orchq.project import Outcome
from orchq.report.machine import json_report
from orchq.report.text import text_report
from orchq.rules.finding import PartReport, Proposal
from orchq.rules.gathering import gathered

ESCAPE = "\x1b"


def test_a_finding_shows_place_pitches_words_authority_and_rule(make_finding, make_report):
    text = text_report(Outcome((make_report(make_finding()),)))
    assert "Violin I (violin, 200 notes)" in text
    assert "m. 12, beat 3: F3" in text
    assert "■ violation   F3 lies below the lowest string, G3." in text
    assert "Somebody, p. 7 (published): The violin begins at G3." in text
    assert "note-below-lowest-string" in text


def test_a_rule_that_rests_on_itself_does_not_repeat_its_name(make_finding, make_report):
    rule = "https://w3id.org/orchq/rule/note-below-lowest-string"
    evidence = Evidence(rule, "", "", "physics", "note under the strings")
    text = text_report(Outcome((make_report(make_finding(evidence=(evidence,))),)))
    assert "physics" in text
    assert "note under the strings" not in text


def test_the_last_line_counts(make_finding, make_report):
    findings = [
        make_finding(),
        make_finding(beat=4.0),
        make_finding(severity="warning"),
        make_finding(severity="info"),
    ]
    last = text_report(Outcome((make_report(*findings),))).rstrip().splitlines()[-1]
    expected = "2 violations, 1 warning, 1 info in 2 parts, 312 notes; 0.4 s"
    assert last == f"piece.musicxml: {expected}"


def test_several_files_end_with_their_sum(make_finding, make_report):
    reports = [make_report(make_finding()), make_report(file="other.musicxml")]
    last = text_report(Outcome(tuple(reports))).rstrip().splitlines()[-1]
    assert last == "2 files: 1 violation in 4 parts, 624 notes; 0.8 s"


def test_parts_without_findings_and_parts_not_checked_are_named(make_finding, make_report):
    text = text_report(Outcome((make_report(make_finding()),)))
    assert re.search(r"Nothing to report: Violin II\.", text)
    assert re.search(r"Not checked.*: Flute\.", text)


def test_parts_come_in_score_order_and_places_in_time(make_finding, make_report):
    findings = [
        make_finding(part_index=1, part="Violin II", measure="1", measure_index=0),
        make_finding(measure="9", measure_index=8, message="late", cause="late"),
        make_finding(measure="2", measure_index=1, message="early", cause="early"),
    ]
    text = text_report(Outcome((gathered(make_report(*findings)),)))
    places = [text.index(each) for each in ("Violin I (", "early", "late", "Violin II (", "m. 1,")]
    assert places == sorted(places)


def test_findings_of_one_cause_share_one_entry(make_finding, make_report):
    findings = [make_finding(measure=str(n), measure_index=n - 1) for n in (12, 14, 16)]
    text = text_report(Outcome((gathered(make_report(*findings)),)))
    assert text.count("lies below the lowest string") == 1
    assert re.search(r"(?m)^ +1  m\. 12, beat 3: F3$", text)
    assert re.search(r"here too\s+3 times: m\. 12, m\. 14, m\. 16\n", text)
    assert "piece.musicxml: 1 violation in" in text


def test_numbers_are_those_of_the_json_report(make_finding, make_report):
    findings = [
        make_finding(part_index=part, measure=str(n), measure_index=n - 1, cause=str(n))
        for part, n in ((1, 3), (0, 8), (1, 2), (0, 5))
    ]
    outcome = Outcome((gathered(make_report(*findings)),))
    shown = re.findall(r"(?m)^ +(\d+)  m\. (\d+),", text_report(outcome))
    (file,) = json.loads(json_report(outcome))["files"]
    assert shown == [(str(each["number"]), each["measure"]) for each in file["findings"]]
    assert [measure for _, measure in shown] == ["5", "8", "2", "3"]


def test_findings_of_different_gravity_stay_apart(make_finding, make_report):
    text = text_report(Outcome((make_report(make_finding(), make_finding(severity="warning")),)))
    assert "■ violation" in text
    assert "▲ warning" in text


def test_severities_differ_in_shape_not_only_in_colour(make_finding, make_report):
    findings = [make_finding(severity=each) for each in ("violation", "warning", "info")]
    text = text_report(Outcome((make_report(*findings),)))
    assert len(set(re.findall(r"(?m)^ +(\S) (?:violation|warning|info) ", text))) == 3


def test_no_colours_unless_asked(make_finding, make_report, monkeypatch):
    monkeypatch.setenv("FORCE_COLOR", "1")
    reports = [make_report(make_finding())]
    assert ESCAPE not in text_report(Outcome(tuple(reports)))
    assert ESCAPE in text_report(Outcome(tuple(reports)), colour=True)


def test_remarks_of_the_reader_are_shown_once(make_report):
    text = text_report(
        Outcome((make_report(remarks=("No tempo is marked.", "No tempo is marked.")),))
    )
    assert text.count("No tempo is marked.") == 1


def test_what_to_write_instead_is_shown_when_known(make_finding, make_report):
    finding = make_finding(
        instead=(Proposal("give it to the violas", True), Proposal("cut", False))
    )
    text = text_report(Outcome((make_report(finding),)))
    assert "give it to the violas\n" in text
    assert "cut (not checked)" in text


@pytest.mark.parametrize("width", [40, 80, 100])
def test_lines_keep_within_the_width_with_a_hanging_indent(make_finding, make_report, width):
    finding = make_finding(
        message="Under a slur of forty notes the bow runs out long before the end. " * 5,
        notes=("G3", "D4", "A4", "E5") * 8,
        evidence=(
            Evidence("l", "A long-winded author", "vol. 2, p. 1234", "published", "x " * 90),
        ),
    )
    name = "Zweite Violinen, hinter der Bühne, ヴァイオリン " * 3
    parts = (
        PartReport(name, "P1", 0, "violin", True, 1),
        PartReport(name, "P2", 1, None, False, 1),
    )
    text = text_report(Outcome((make_report(finding, parts=parts),)), width=width)
    assert max(map(cell_len, text.splitlines())) <= width


def test_hostile_text_is_shown_as_text(make_finding, make_report):
    hostile = "[red]\x1b[2J\x1b]0;title\x07[/]\u202egnirts\u2066 :smile: \x9b31m\r\nend"
    finding = make_finding(
        message=hostile,
        rule=hostile,
        measure=hostile,
        notes=(hostile,),
        evidence=(Evidence(hostile, hostile, hostile, hostile, hostile),),
    )
    parts = (
        PartReport(hostile, hostile, 0, hostile, True, 1),
        PartReport(hostile, hostile, 1, None, False, 1),
    )
    report = make_report(finding, parts=parts, file=hostile, remarks=(hostile,))
    text = text_report(Outcome((report,)))
    assert not set(text) & set("\x1b\x07\x9b\r\u202e\u2066")
    assert "[red]" in text
    assert ":smile:" in text


def test_an_empty_score_has_a_report(make_report):
    text = text_report(Outcome((make_report(parts=(), notes=0),)))
    assert "nothing found in 0 parts, 0 notes" in text


def test_plain_ascii_shapes_where_the_terminal_has_no_others(make_finding, make_report):
    text = text_report(Outcome((make_report(make_finding()),)), unicode=False)
    assert text.isascii()
    assert "X violation" in text
