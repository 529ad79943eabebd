"""Outcomes as the formats for CI servers meet them, and a browser."""

from collections.abc import Callable
from typing import Any

import pytest

from orchq.evidence import Evidence
from orchq.project import Outcome, Unread
from orchq.rules.catalogue import RuleInfo
from orchq.rules.finding import Accepted, FileReport, Finding
from tests.browsers import browser, faults, open_address, open_page, requested

__all__ = ["browser", "faults", "open_address", "open_page", "requested"]

RULE = RuleInfo(
    iri="https://w3id.org/orchq/rule/note-below-lowest-string",
    slug="note-below-lowest-string",
    label="note below the lowest string",
    severities=("violation", "warning"),
    why="There is no such note.",
    instead="Give it to a lower instrument.",
    bad="Violins: F3.",
    good="Violas: F3.",
    evidence=(Evidence("limit", "", "", "physics", "A string sounds no lower than itself."),),
)


@pytest.fixture
def make_outcome(make_report: Callable[..., FileReport]) -> Callable[..., Outcome]:
    """A maker of outcomes of one file with the given findings."""

    def make(*findings: Finding, unread: bool = False, **different: Any) -> Outcome:
        threshold = different.pop("threshold", "violation")
        broken = (Unread("broken.mxl", "line one is no score", 1),) if unread else ()
        return Outcome((make_report(*findings, **different), *broken), (RULE,), threshold)

    return make


@pytest.fixture
def make_accepted(make_finding: Callable[..., Finding]) -> Callable[..., Accepted]:
    """A maker of findings that were accepted in some place for some reason."""

    def make(where: Any, reason: str = "asked the player", **different: Any) -> Accepted:
        return Accepted(make_finding(**different), reason, where)

    return make


@pytest.fixture(params=["findings", "nothing", "unreadable", "accepted", "hostile"])
def outcome(
    request: pytest.FixtureRequest,
    make_outcome: Callable[..., Outcome],
    make_finding: Callable[..., Finding],
    make_accepted: Callable[..., Accepted],
) -> Outcome:
    """Outcomes of every kind, for what must hold of all of them."""
    severities = ("violation", "warning", "info")
    findings = [make_finding(severity=each, line=7) for each in severities]
    match request.param:
        case "findings":
            return make_outcome(*findings, remarks=("a sign is not known",))
        case "unreadable":
            return make_outcome(*findings, unread=True)
        case "accepted":
            places = ("excerpt", "settings", "baseline")
            return make_outcome(accepted=tuple(map(make_accepted, places)))
        case "hostile":
            return make_outcome(
                make_finding(message=HOSTILE, part=HOSTILE, measure=HOSTILE, notes=(HOSTILE,)),
                accepted=(make_accepted("excerpt", HOSTILE),),
                file=HOSTILE.replace("\ud800", "\udcff"),  # a byte that is no UTF-8
                remarks=(HOSTILE,),
            )
    return make_outcome()


HOSTILE = (
    "a\r\n::error::x %0A,:\u2028##[add-path]/ [go](https://example.org) {0} "
    "]]></system-out><b/>&amp; \x1b[2J\x00\ud800\uffff\u202e"
)
"""Text that tries to be a command, a link, a placeholder, an element, a terminal code."""
