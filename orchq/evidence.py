"""Who says so: what findings and answers rest on."""

from collections.abc import Iterable
from dataclasses import dataclass
from decimal import Decimal

from orchq.knowledge import Knowledge, Limit, Weighing, Zone
from orchq.terms import OQ

_BASES = ("published", "physics", "common-practice", "derived", "attested")
"""From the best witness on; others, such as memory, come after them."""


@dataclass(frozen=True, slots=True)
class Evidence:
    """Who says so: a limit with its source, place in the source and basis.

    ``link`` is an address that opens the source, at that place where it can be; else it is empty.
    """

    limit: str
    source: str
    locator: str
    basis: str
    statement: str
    link: str = ""


def evidence_of(limit: Limit) -> Evidence:
    """Return the one who states a limit."""
    return Evidence(
        limit=limit.iri,
        source=limit.source.label if limit.source else "",
        locator=limit.locator,
        basis=limit.basis.replace("-", " "),
        statement=limit.statement,
        link=limit.source.opened_at(limit.locator) if limit.source else "",
    )


def witnesses(zone: Zone) -> tuple[Limit, ...]:
    """Those who speak of a stretch of values: the best on either side first, then the others.

    Where nobody permits it, who goes farthest stands for the other side.
    """
    against = best_first(zone.opposed_by)
    for_ = best_first(zone.permitted_by) if zone.permitted_by else [zone.farthest]
    named = (*against[:1], *for_[:1], *against[1:], *for_[1:])
    return tuple({limit.iri: limit for limit in named}.values())


def best_first(limits: Iterable[Limit]) -> list[Limit]:
    """Limits by the weight of their basis; of like weight as they come."""
    return sorted(
        limits,
        key=lambda each: (
            each.claim == "at least so far",
            (*_BASES, each.basis).index(each.basis),
        ),
    )


def how_far(weighing: Weighing, zone: Zone, knowledge: Knowledge) -> str:
    """How far those who speak go: the most permitting, or the best of those who object."""
    yardstick = weighing.yardstick
    if zone.verdict == "disputed":
        template, limit = yardstick.says_disputed, best_first(zone.opposed_by)[0]
        value = limit.values.get(yardstick.usual or "", limit.values.get(yardstick.name))
    else:
        template, limit = yardstick.says_beyond, zone.farthest
        value = limit.values.get(yardstick.name, limit.values.get(yardstick.usual or ""))
    return template.replace("{}", _figure(value, knowledge))


def _figure(value: object, knowledge: Knowledge) -> str:
    if isinstance(value, Decimal):
        return f"{value.normalize():f}"
    text = str(value)
    return knowledge.label(text) if text.startswith(OQ) else text
