"""Findings that someone has accepted: set apart from the others, and never silent."""

from collections.abc import Callable, Collection, Iterable
from typing import Literal, Protocol, TypeVar

from msgspec import Struct
from msgspec.structs import replace

from orchq.rules.finding import Accepted, FileReport, Finding
from orchq.score import Acceptance
from orchq.terms import slug_of


class Accepting(Protocol):
    """Anything that accepts findings, with the reason in words."""

    @property
    def reason(self) -> str: ...  # noqa: D102 - described above


A = TypeVar("A", bound=Accepting)


def accept(
    report: FileReport,
    accepting: Callable[[Finding], A | None],
    where: Literal["excerpt", "settings"],
) -> tuple[FileReport, frozenset[A]]:
    """Move what is accepted out of the findings.

    ``accepting`` gives what accepts a finding, if anything does; all that did are returned.
    """
    standing: list[Finding] = []
    accepted: list[Accepted] = []
    used: set[A] = set()
    for finding in report.findings:
        by = accepting(finding)
        if by is None:
            standing.append(finding)
        else:
            accepted.append(Accepted(finding, by.reason, where))
            used.add(by)
    report = replace(report, findings=tuple(standing), accepted=(*report.accepted, *accepted))
    return report, frozenset(used)


def accepts_nothing(what: str) -> str:
    """The remark on an acceptance that no longer matches any finding."""
    return f"{what} no longer accepts anything"


class _OnEvent(Struct, frozen=True):
    """A rule, by slug, accepted on an event."""

    rule: str
    event: str
    reason: str


def accept_in_excerpt(
    report: FileReport, acceptances: Iterable[Acceptance], rules: Collection[str]
) -> FileReport:
    """Accept what the excerpt itself accepts, and report acceptances that match nothing.

    ``rules`` are the slugs of the rules that were run: an acceptance of any other rule is ignored.
    """
    pairs = {
        (slug, event): _OnEvent(slug, event, acceptance.reason)
        for acceptance in acceptances
        for slug in map(slug_of, acceptance.rules)
        for event in acceptance.events
        if slug in rules
    }
    report, used = accept(
        report, lambda finding: pairs.get((finding.rule, finding.event)), "excerpt"
    )
    vain = (
        accepts_nothing(f"the oq:Acceptance of {pair.rule} on {slug_of(pair.event)}")
        for pair in pairs.values()
        if pair not in used
    )
    return replace(report, remarks=(*report.remarks, *vain))
