"""The rule catalogue and a rule's page."""

import json
from collections.abc import Sequence
from typing import Any, Unpack

from orchq.report.machine import evidence_object
from orchq.report.text_page import Look, Page
from orchq.report.wording import attribution, counted, one_line
from orchq.rules.catalogue import RuleInfo
from orchq.version import program_version


def catalogue_table(
    rules: Sequence[RuleInfo],
    **look: Unpack[Look],
) -> str:
    """Return every rule with its name, its severities and what it reports."""
    page = Page(**look)
    for rule in rules:
        page.line(one_line(rule.slug), "bold")
        page.line(f"{one_line(rule.label)} ({_severities(rule)})", indent=4)
        if rule.origin:
            page.line(f"from {one_line(rule.origin)}", "dim", indent=4)
    page.line()
    page.line(f"{counted(len(rules), 'rule')}; orchq rules NAME shows one.")
    return page.text()


def rule_page(
    rule: RuleInfo,
    **look: Unpack[Look],
) -> str:
    """Return the full description of a rule."""
    page = Page(**look)
    page.line(one_line(rule.label), "bold underline")
    page.line()
    page.entry("name", one_line(rule.slug))
    page.entry("severity", _severities(rule))
    for label, text in (
        ("why", rule.why),
        ("instead", rule.instead),
        ("wrong", rule.bad),
        ("right", rule.good),
    ):
        page.entry(label, one_line(text, 2000))
    label = "who says so"
    for evidence in rule.evidence:
        page.entry(label, attribution(evidence, rule.slug))
        label = ""
    page.entry("identifier", one_line(rule.iri))
    if rule.origin:
        page.entry("from", one_line(rule.origin))
    return page.text()


def catalogue_json(rules: Sequence[RuleInfo]) -> str:
    """Return the rules as one JSON object."""
    document = {"orchq": program_version(), "rules": [_rule(rule) for rule in rules]}
    return json.dumps(document, indent=2) + "\n"


def _severities(rule: RuleInfo) -> str:
    return ", ".join(rule.severities)


def _rule(rule: RuleInfo) -> dict[str, Any]:
    return {
        "rule": rule.slug,
        "label": rule.label,
        "severities": list(rule.severities),
        "why": rule.why,
        "instead": rule.instead,
        "bad": rule.bad,
        "good": rule.good,
        "iri": rule.iri,
        "evidence": [
            evidence_object(evidence) | {"statement": evidence.statement}
            for evidence in rule.evidence
        ],
        **({"from": rule.origin} if rule.origin else {}),
    }
