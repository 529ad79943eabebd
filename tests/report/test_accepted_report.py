"""The text report on what is accepted, changed and in force; and on what a new check found."""

import pytest

from orchq.project import Outcome
from orchq.report.differences import change_report
from orchq.report.text import text_report
from orchq.rules.finding import Accepted
from orchq.rules.gathering import gathered

HOSTILE = "[bold]\x1b[2J\u202e\nreason"


def test_settings_in_force_are_told_once(make_report):
    reports = [make_report(settings="../orchq.toml"), make_report(settings="../orchq.toml")]
    text = text_report(Outcome(tuple(reports)))
    assert text.count("orchq.toml") == 1
    assert text.splitlines()[0].endswith("../orchq.toml")
    assert "ettings" not in text_report(Outcome((make_report(),)))


def test_a_changed_severity_is_shown_as_changed(make_finding, make_report):
    text = text_report(
        Outcome((make_report(make_finding(severity="info", changed_from="violation")),))
    )
    assert "○ info" in text
    assert "changed       by the settings, from violation" in text
    assert "changed" not in text_report(Outcome((make_report(make_finding()),)))


def test_what_is_accepted_is_counted_and_shown_with_its_reason(make_finding, make_report):
    accepted = (
        Accepted(make_finding(), "asked for by the player", "settings"),
        Accepted(make_finding(part_index=1, part="Violin II"), "tuned down", "excerpt"),
    )
    text = text_report(Outcome((make_report(make_finding(part_index=1), accepted=accepted),)))
    assert "Violin I, m. 12, beat 3: F3: note-below-lowest-string" in text
    assert "in settings   asked for by the player" in text
    assert "in excerpt    tuned down" in text
    assert "1 violation (2 accepted) in 2 parts" in text.splitlines()[-1]
    assert "Nothing to report" not in text


def test_a_baseline_is_told_by_its_count(make_finding, make_report):
    accepted = tuple(Accepted(make_finding(), "known in known.json", "baseline") for _ in range(3))
    text = text_report(
        Outcome(
            (
                make_report(accepted=accepted),
                make_report(accepted=accepted),
            )
        )
    )
    assert text.count("3 findings known in known.json") == 2
    assert "F3" not in text
    assert "nothing found (6 accepted)" in text.splitlines()[-1]


@pytest.mark.parametrize("where", ["settings", "baseline"])
def test_hostile_words_are_shown_safely(make_finding, make_report, where):
    finding = make_finding(part=HOSTILE, rule=HOSTILE, notes=(HOSTILE,))
    accepted = (Accepted(finding, HOSTILE, where),)
    report = make_report(accepted=accepted, settings=HOSTILE, remarks=(HOSTILE,))
    text = text_report(Outcome((report,)), width=200)
    assert "\x1b" not in text
    assert "\u202e" not in text
    assert "[bold][2J reason" in text


def test_a_new_check_reports_what_is_new_and_what_is_gone(make_finding, make_report):
    low, high = make_finding(), make_finding(rule="note-above-compass", message="too high")
    text = change_report(make_report(low, low), make_report(high, low))
    assert [line.split()[0] for line in text.splitlines() if line[:1].isalpha()] == [
        "new",
        "gone",
        "piece.musicxml:",
    ]
    new, gone, last = text.split("\n\n")
    assert "note-above-compass" in new
    assert "note-below-lowest-string" in gone
    assert "1 new, 1 gone; now 2 violations in" in last


def test_a_new_check_without_change_is_one_line(make_finding, make_report):
    again = make_finding(event="other", message="in other words")
    text = change_report(make_report(make_finding()), make_report(again))
    assert text.count("\n") == 1
    assert "0 new, 0 gone; now 1 violation in" in text


def test_another_place_of_a_known_cause_is_new(make_finding, make_report):
    first, second = (make_finding(measure=str(n), measure_index=n - 1) for n in (12, 14))
    one, two = gathered(make_report(first)), gathered(make_report(first, second))
    assert len(one.findings) == len(two.findings) == 1
    text = change_report(one, two)
    assert "new " in text
    assert "m. 14, beat 3: F3" in text
    assert "1 new, 0 gone; now 1 violation in" in text
    assert "0 new, 1 gone; now 1 violation in" in change_report(two, one)


def test_a_change_shows_hostile_words_safely(make_finding, make_report):
    text = change_report(
        make_report(), make_report(make_finding(part=HOSTILE, message=HOSTILE, notes=(HOSTILE,)))
    )
    assert "\x1b" not in text
    assert "\u202e" not in text
