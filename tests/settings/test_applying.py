"""Settings change severities and accept findings; what they say in vain is told once."""

import pytest

from orchq.settings import AcceptedPlace, Settings, with_settings

RULE = "note-below-lowest-string"


def place(**different):
    values = {"rule": RULE, "part": "Violin I", "measure": "12", "reason": "asked for"}
    return AcceptedPlace(**(values | different))


def settled(report, *reports, rules=(RULE,), **settings):
    return with_settings([report, *reports], Settings(path="orchq.toml", **settings), rules)


def test_a_changed_severity_shows_what_it_was(make_finding, make_report):
    report = make_report(make_finding(), make_finding(rule="stop-hard", severity="warning"))
    (told,) = settled(report, severities={RULE: "info", "stop-hard": "warning"})
    assert [(f.severity, f.changed_from) for f in told.findings] == [
        ("info", "violation"),
        ("warning", None),
    ]
    assert told.settings == "orchq.toml"


@pytest.mark.parametrize(
    "different",
    [
        {},
        {"part": "VIOLIN  i"},
        {"part": "P1"},
        {"beat": 3.0},
        {"file": "*.musicxml"},
        {"file": "music/piece.musicxml"},
    ],
)
def test_a_place_accepts_its_finding(make_finding, make_report, different):
    (told,) = settled(
        make_report(make_finding(), file="music/piece.musicxml"), accepted=(place(**different),)
    )
    assert told.findings == told.remarks == ()
    assert [(each.reason, each.where) for each in told.accepted] == [("asked for", "settings")]


@pytest.mark.parametrize(
    "different",
    [
        {"rule": "stop-hard"},
        {"part": "Violin"},
        {"part": "Violin II"},
        {"measure": "11"},
        {"measure": "012"},
        {"beat": 3.5},
    ],
)
def test_another_place_accepts_nothing_and_that_is_told(make_finding, make_report, different):
    (told,) = settled(
        make_report(make_finding()), rules=(RULE, "stop-hard"), accepted=(place(**different),)
    )
    assert len(told.findings) == 1
    assert told.accepted == ()
    (remark,) = told.remarks
    assert "no longer accepts anything" in remark
    assert "orchq.toml" in remark


@pytest.mark.parametrize("different", [{"file": "other.musicxml"}, {"file": "usic/*"}])
def test_a_place_in_a_file_that_is_not_checked_is_not_told(make_finding, make_report, different):
    report = make_report(make_finding(), file="music/piece.musicxml")
    (told,) = settled(report, accepted=(place(**different),))
    assert len(told.findings) == 1
    assert told.remarks == ()


def test_a_place_of_a_rule_that_is_not_run_is_not_told(make_report):
    (told,) = settled(make_report(), rules=(), accepted=(place(),))
    assert told.remarks == ()


def test_a_place_for_several_files_is_told_only_when_none_has_its_finding(
    make_finding, make_report
):
    with_it, without = make_report(make_finding(), file="a.mxl"), make_report(file="b.mxl")
    assert [len(told.remarks) for told in settled(without, with_it, accepted=(place(),))] == [0, 0]
    assert [len(told.remarks) for told in settled(without, without, accepted=(place(),))] == [1, 0]


def test_thirds_of_a_beat_are_found_by_their_decimals(make_finding, make_report):
    (told,) = settled(make_report(make_finding(beat=2.333333)), accepted=(place(beat=2.33),))
    assert told.findings == ()


def test_players_of_no_part_are_told_with_the_nearest(make_report):
    told = settled(make_report(), make_report(), players={"Violin 1": 2, "violin ii": 3, "P3": 4})
    assert [len(each.remarks) for each in told] == [1, 0]
    assert "'Violin 1'" in told[0].remarks[0]
    assert "Violin I" in told[0].remarks[0]


def test_nothing_to_report_on_needs_no_remark():
    assert with_settings([], Settings(players={"Viola": 3}, accepted=(place(),)), (RULE,)) == []
