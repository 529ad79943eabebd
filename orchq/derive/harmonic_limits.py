"""Limits of harmonics: the partials that authorities grant, and on which instruments."""

from typing import Literal

from msgspec import Struct

from orchq.errors import OrchqError
from orchq.knowledge import Instrument, Knowledge
from orchq.terms import OQ, local_name


class HarmonicLimits(Struct, frozen=True):
    """Limits that authorities grant, by partial number.

    ``sure_partial`` is granted by all as a natural harmonic, ``highest_partial`` by some;
    ``artificial_partial`` is the highest that speaks well over a stopped note, 0 for none.
    ``artificial`` is whether artificial harmonics are granted on the instrument, refused, or
    disputed. ``highest_on_lower`` is how many semitones above its open note a string other than
    the highest is stopped for one, where a limit is stated. ``limits`` names, for each field, the
    limits of the graph that it rests on.
    """

    sure_partial: int
    highest_partial: int
    artificial_partial: int
    artificial: Literal["granted", "disputed", "refused"] = "granted"
    highest_on_lower: int | None = None
    limits: tuple[tuple[str, str], ...] = ()

    def resting_on(self, field: str) -> tuple[str, ...]:
        """IRIs of the limits that the value of this field comes from."""
        return tuple(limit for name, limit in self.limits if name == field)


def harmonic_limits(
    knowledge: Knowledge,
    instrument: Instrument,
    level: str = "orchestral",
    trust: str | None = None,
) -> HarmonicLimits:
    """Return the limits of harmonics in force on an instrument.

    Raises ``OrchqError`` when the graph grants no partial, and where no string is stopped.
    """
    if instrument.open_only:
        raise OrchqError(
            f"the strings of the {instrument.label} are not stopped: harmonics are not supported"
        )
    techniques = OQ + "natural-harmonic", OQ + "artificial-harmonic"
    natural, stopped = (
        {
            limit.iri: int(limit.values["highestPartial"])
            for limit in knowledge.in_force(
                "HarmonicLimit",
                instrument,
                technique=technique,
                level=OQ + local_name(level),
                trust=trust,
            )
            if "highestPartial" in limit.values
        }
        for technique in techniques
    )
    if not natural:
        raise OrchqError(f"the graph has no limit of harmonics for {instrument.label}")
    granted = {
        limit.iri: limit.values.get("isAvailable") is True
        for limit in knowledge.in_force(
            "Availability", instrument, technique=techniques[1], trust=trust
        )
    }
    heights = [
        int(limit.values["highestSemitone"])
        for limit in knowledge.in_force(
            "StringCallHeight", instrument, level=OQ + local_name(level), trust=trust
        )
    ]
    answers = set(granted.values()) or {True}
    sure, highest = min(natural.values()), max(natural.values())
    return HarmonicLimits(
        sure_partial=sure,
        highest_partial=highest,
        artificial_partial=max(stopped.values(), default=0),
        artificial="disputed" if len(answers) > 1 else "granted" if True in answers else "refused",
        highest_on_lower=max(heights, default=None),
        limits=(
            *(("sure_partial", iri) for iri, partial in natural.items() if partial == sure),
            *(("highest_partial", iri) for iri, partial in natural.items() if partial == highest),
            *(("artificial_partial", iri) for iri in stopped),
            *(("artificial", iri) for iri in granted),
        ),
    )


def judged_limits(
    knowledge: Knowledge, instrument: Instrument, level: str, trust: str | None
) -> HarmonicLimits | None:
    """The limits for harmonics in a part; ``None`` where the graph lacks either kind."""
    try:
        limits = harmonic_limits(knowledge, instrument, level, trust)
    except OrchqError:
        return None
    return limits if limits.artificial_partial else None
