"""Which limits hold: the more specific displaces the more general, authorities stand together."""

from collections import defaultdict
from collections.abc import Callable, Iterable
from typing import Literal

from orchq.knowledge.model import Instrument, Limit

Verdict = Literal["allowed", "disputed", "not allowed"]
"""What the authorities together say of a mark, the mildest first."""


def limits_in_force(
    limits: Iterable[Limit],
    instrument: Instrument,
    *,
    technique: str | None = None,
    level: str | None = None,
    trust: str | None = None,
) -> tuple[Limit, ...]:
    """Choose among limits of one kind those that hold.

    A limit of the instrument displaces those of its family, and one for the level displaces
    those for no level; what rests on memory displaces nothing that is better known. Where the
    trusted source (an IRI) speaks, it alone is heard. Only limits about the same thing (the
    same change, the same dynamic) displace each other. Limits of a register or of a variant
    tuning are left to whoever asks for them by name.
    """
    held: dict[tuple[str, ...], list[Limit]] = defaultdict(list)
    for limit in limits:
        if (
            limit.technique == technique
            and limit.instrument in (None, instrument.iri)
            and (limit.instrument is not None or limit.family in (None, instrument.family))
            and limit.level in (None, level)
            and limit.tuning in (None, instrument.standard.iri)
            and limit.register is None
        ):
            held[limit.about].append(limit)
    return tuple(limit for about in held.values() for limit in _weigh(about, trust))


def _weigh(limits: list[Limit], trust: str | None) -> list[Limit]:
    """Choose among limits about the same thing."""
    if trust is not None:
        trusted = [limit for limit in limits if limit.source and limit.source.iri == trust]
        limits = trusted or limits
    limits = _prefer(limits, lambda limit: limit.instrument is not None)
    limits = _prefer(limits, lambda limit: limit.instrument is not None or limit.family is not None)
    return _prefer(limits, lambda limit: limit.level is not None)


def _prefer(limits: list[Limit], specific: Callable[[Limit], bool]) -> list[Limit]:
    """Drop the general limits that a specific one displaces."""
    chosen = [limit for limit in limits if specific(limit)]
    if any(limit.basis != "memory" for limit in chosen):
        return chosen
    if chosen and all(limit.basis == "memory" for limit in limits):
        return chosen
    return limits


def verdict_of(limits: Iterable[Limit], allows: Callable[[Limit], bool]) -> Verdict:
    """Weigh limits in force that speak about the same mark, as the rules do.

    A mark is not allowed when limits whose basis condemns speak and none of them allows it
    (a violation), and disputed when any other limit does not allow it (a warning).

    >>> verdict_of((), lambda limit: False)
    'allowed'
    """
    granted = [(limit.condemns, allows(limit)) for limit in limits]
    weighty = [allowed for condemns, allowed in granted if condemns]
    if weighty and not any(weighty):
        return "not allowed"
    return "allowed" if all(allowed for _, allowed in granted) else "disputed"
