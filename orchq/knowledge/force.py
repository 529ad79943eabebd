"""Which limits hold: the more specific displaces the more general, authorities stand together."""

from collections import defaultdict
from collections.abc import Callable, Iterable, Iterator
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
    excusing: bool = False,
) -> tuple[Limit, ...]:
    """Choose among limits of one kind those that hold.

    A limit of the instrument displaces those of its family, and one for the level displaces
    those for no level; what rests on memory displaces nothing that is better known. Where the
    trusted source (an IRI) speaks, it alone is heard. Only limits about the same thing (the
    same change, the same dynamic) displace each other. Limits of a register or of a variant
    tuning are left to whoever asks for them by name.

    What scores attest forbids nothing, so it is not among them; only of a kind that says so
    (``Limit.warns_alone``), and where nobody else speaks, is it taken for the limit. With
    ``excusing`` those are chosen instead that forbid nothing and may allow what others forbid:
    they neither displace each other nor anything else.
    """
    groups = _about_the_same(limits, instrument, technique, level, trust)
    if excusing:
        return tuple(limit for group in groups for limit in group if limit.only_excuses)
    return tuple(limit for group in groups for limit in _weigh(group))


def _about_the_same(
    limits: Iterable[Limit],
    instrument: Instrument,
    technique: str | None,
    level: str | None,
    trust: str | None,
) -> Iterator[list[Limit]]:
    """The limits that speak of an instrument, in groups about the same thing."""
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
    for group in held.values():
        trusted = [limit for limit in group if limit.source and limit.source.iri == trust]
        yield trusted or group


def _weigh(group: list[Limit]) -> list[Limit]:
    """Choose among limits about the same thing those that hold."""
    limits = [limit for limit in group if not limit.only_excuses]
    limits = limits or [limit for limit in group if limit.warns_alone]
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
    """Weigh limits that speak about the same mark, as the rules do.

    A mark is not allowed when limits whose basis condemns speak and nobody who may excuse it
    allows it (a violation), and disputed when any other limit does not allow it (a warning).
    What scores attest forbids nothing, and what is only remembered does not stand against it.

    >>> verdict_of((), lambda limit: False)
    'allowed'
    """
    stated = list(limits)
    granting = [limit for limit in stated if allows(limit)]
    against = [limit for limit in stated if not (limit.only_excuses or allows(limit))]
    if any(limit.condemns for limit in stated) and not any(each.excuses for each in granting):
        return "not allowed"
    if any(limit.only_excuses for limit in granting):
        against = [limit for limit in against if limit.basis != "memory"]
    return "disputed" if against else "allowed"
