"""One cause, one finding: what is gathered, in which order, and back."""

from orchq.rules.finding import Accepted
from orchq.rules.gathering import gathered, spread


def at(make_finding, measure, **different):
    event = f"e{measure}"
    return make_finding(measure=str(measure), measure_index=measure - 1, event=event, **different)


def test_only_findings_of_one_part_rule_severity_and_cause_are_gathered(make_finding, make_report):
    others = (
        {"part_index": 1},
        {"rule": "another"},
        {"severity": "info"},
        {"severity": "info", "changed_from": "violation"},
        {"cause": "another"},
    )
    same = [at(make_finding, n) for n in (1, 2)]
    different = [at(make_finding, 3, **each) for each in others]
    found = gathered(make_report(*same, *different)).findings
    assert [len(each.all_places) for each in found].count(2) == 1
    assert len(found) == 1 + len(others)


def test_what_was_spread_and_lost_places_comes_in_the_order_of_the_score(make_finding, make_report):
    early, late = at(make_finding, 1, cause="a"), at(make_finding, 9, cause="a")
    between = at(make_finding, 5, cause="b")
    whole = spread(gathered(make_report(early, between, late)))
    assert sorted(each.event for each in whole.findings) == ["e1", "e5", "e9"]
    left = [each for each in whole.findings if each.event != "e1"]
    assert [each.event for each in gathered(make_report(*left)).findings] == ["e5", "e9"]


def test_what_accepts_a_finding_is_kept_where_reasons_are_alike(make_finding, make_report):
    accepted = (
        Accepted(at(make_finding, 1), "asked the player", "excerpt"),
        Accepted(at(make_finding, 2), "asked the player", "settings"),
    )
    found = gathered(make_report(accepted=accepted)).accepted
    assert [(each.finding.event, each.where) for each in found] == [
        ("e1", "excerpt"),
        ("e2", "settings"),
    ]
