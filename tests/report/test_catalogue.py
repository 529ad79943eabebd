import json

import pytest

from orchq.evidence import Evidence
from orchq.report.rule_pages import catalogue_json, catalogue_table, rule_page
from orchq.rules.catalogue import RuleInfo


@pytest.fixture
def rule():
    return RuleInfo(
        iri="https://w3id.org/orchq/rule/crescendo-on-plucked-note",
        slug="crescendo-on-plucked-note",
        label="Crescendo on one plucked note",
        severities=("violation", "info"),
        why="A plucked string only fades.",
        instead="Repeat the note.",
        bad="A half note, pizz., under a hairpin that opens.",
        good="Four quarter notes, pizz., under the same hairpin.",
        evidence=(Evidence("limit", "", "", "physics", "It fades."),),
    )


def test_the_table_names_every_rule(rule):
    table = catalogue_table([rule, rule])
    assert table.count("crescendo-on-plucked-note") == 2
    assert "(violation, info)" in table
    assert "2 rules" in table


def test_a_page_holds_all_that_a_rule_says(rule):
    page = rule_page(rule, width=200)
    for text in (rule.slug, rule.label, rule.why, rule.instead, rule.bad, rule.good, rule.iri):
        assert text in page
    assert "physics: It fades." in page


def test_json_holds_all_that_a_rule_says(rule):
    (written,) = json.loads(catalogue_json([rule]))["rules"]
    assert written == {
        "rule": rule.slug,
        "label": rule.label,
        "severities": ["violation", "info"],
        "why": rule.why,
        "instead": rule.instead,
        "bad": rule.bad,
        "good": rule.good,
        "iri": rule.iri,
        "evidence": [
            {
                "limit": "limit",
                "source": "",
                "locator": "",
                "basis": "physics",
                "statement": "It fades.",
            }
        ],
    }
