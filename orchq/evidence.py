"""Evidence: the limits and sources that findings and answers rest on."""

from collections.abc import Iterable
from decimal import Decimal

from msgspec import Struct

from orchq.knowledge import Knowledge, Limit, Weighing, Zone
from orchq.terms import OQ

_BASES = ("published", "physics", "common-practice", "derived", "attested")
"""Bases from the strongest; others, such as memory, come after them."""


class Evidence(Struct, frozen=True):
    """A limit as evidence, with its source, the place in the source and its basis.

    ``link`` is an address that opens the source, at that place where it can be; else it is empty.
    """

    limit: str
    source: str
    locator: str
    basis: str
    statement: str
    link: str = ""


def evidence_of(limit: Limit) -> Evidence:
    """Return the evidence for a limit."""
    return Evidence(
        limit=limit.iri,
        source=limit.source.label if limit.source else "",
        locator=limit.locator,
        basis=limit.basis.replace("-", " "),
        statement=limit.statement,
        link=limit.source.opened_at(limit.locator) if limit.source else "",
    )


def witnesses(zone: Zone) -> tuple[Limit, ...]:
    """Return the evidence on a zone of values: the best on either side first, then the others.

    Where nobody permits it, the most permitting limit stands for the other side.
    """
    against = best_first(zone.opposed_by)
    for_ = best_first(zone.permitted_by) if zone.permitted_by else [zone.farthest]
    named = (*against[:1], *for_[:1], *against[1:], *for_[1:])
    return tuple({limit.iri: limit for limit in named}.values())


def best_first(limits: Iterable[Limit]) -> list[Limit]:
    """Limits sorted by the weight of their basis; the sort is stable."""
    return sorted(
        limits,
        key=lambda each: (
            each.claim == "at least so far",
            (*_BASES, each.basis).index(each.basis),
        ),
    )


def how_far(weighing: Weighing, zone: Zone, knowledge: Knowledge) -> str:
    """The limit to quote: the most permitting, or the best of those that object."""
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
