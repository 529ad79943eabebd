"""Which limits are heard: the specific displaces the general, authorities stand together."""

from collections import defaultdict
from collections.abc import Callable, Iterable, Iterator, Sequence

from orchq.knowledge.model import Instrument, Limit
from orchq.terms import OQ


def heard(
    limits: Iterable[Limit],
    instrument: Instrument,
    *,
    technique: str | None = None,
    trust: str | None = None,
) -> Iterator[list[Limit]]:
    """Yield those limits of one kind that speak of an instrument, in groups about the same thing.

    A limit of the instrument displaces those of its family; what rests on memory displaces
    nothing that is better known, and what scores attest neither displaces nor is displaced. Where
    the trusted source or basis (an IRI) speaks, it alone is heard. Limits of a register or of a
    variant tuning are left to whoever asks for them by name. Limits for all levels of player are
    among them.
    """
    held: dict[tuple[tuple[str, str], ...], list[Limit]] = defaultdict(list)
    for limit in limits:
        if (
            limit.technique == technique
            and limit.instrument in (None, instrument.iri)
            and (
                limit.instrument is not None
                or (limit.family in (None, instrument.family) and technique not in instrument.lacks)
            )
            and limit.tuning in (None, instrument.standard.iri)
            and limit.register is None
        ):
            held[limit.about].append(limit)
    for group in held.values():
        trusted = [limit for limit in group if trust is not None and _speaks_for(limit, trust)]
        yield list(_specific(trusted or group))


def limits_in_force(
    limits: Iterable[Limit],
    instrument: Instrument,
    *,
    technique: str | None = None,
    level: str | None = None,
    trust: str | None = None,
) -> tuple[Limit, ...]:
    """Choose among limits of one kind the figures to calculate with for players of a level.

    As ``heard``, without what is only known to have been reached; a limit for the level displaces
    those for no level, unless it rests on memory and they do not.
    """
    groups = heard(limits, instrument, technique=technique, trust=trust)
    return tuple(
        limit
        for group in groups
        for limit in _prefer(
            [
                each
                for each in group
                if each.level in (None, level) and each.claim != "at least so far"
            ],
            lambda each: each.level is not None,
        )
    )


def _speaks_for(limit: Limit, authority: str) -> bool:
    """Whether a limit is that of a source, or rests on a basis, given by its IRI."""
    return authority == OQ + limit.basis or (
        limit.source is not None and authority == limit.source.iri
    )


def _specific(group: Sequence[Limit]) -> Iterator[Limit]:
    """The limits of a group without those that a more specific one displaces.

    What scores of a whole family attest says little of an instrument that has limits of its own.
    """
    stated = [limit for limit in group if limit.basis != "attested"]
    own = any(limit.instrument is not None for limit in stated)
    for limit in group:
        if limit.basis == "attested" and (limit.instrument is not None or not own):
            yield limit
    stated = _prefer(stated, lambda each: each.instrument is not None)
    yield from _prefer(stated, lambda each: (each.instrument or each.family) is not None)


def _prefer(limits: list[Limit], specific: Callable[[Limit], bool]) -> list[Limit]:
    """Drop the general limits that a specific one displaces."""
    chosen = [limit for limit in limits if specific(limit)]
    if any(limit.basis != "memory" for limit in chosen):
        return chosen
    if chosen and all(limit.basis == "memory" for limit in limits):
        return chosen
    return limits
