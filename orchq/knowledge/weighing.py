"""Weighs the limits on one topic together: how far a mark lies beyond them, and what follows.

Limits are weighed nowhere else. Rules, questions and advice use the results.
"""

from collections.abc import Iterable, Iterator, Mapping, Sequence
from itertools import pairwise
from typing import Literal

from msgspec import Struct
from msgspec.structs import replace

from orchq.exact import Fraction
from orchq.knowledge.model import Dynamic, Limit, Value
from orchq.notation import Pitch
from orchq.severity import Severity, rank

Verdict = Literal["allowed", "disputed", "unusual", "not allowed"]
"""The joint verdict of the authorities on a mark, mildest first.

``allowed``: nobody objects. ``disputed``: some allow it and others do not. ``unusual``: it lies
beyond all of them. ``not allowed``: it lies beyond a bound, or far beyond all of them.
"""
VERDICTS: tuple[Verdict, ...] = ("allowed", "disputed", "unusual", "not allowed")

_EXACT = 10**6
"""Decimals to which ends of zones are rounded, so that graph and code compare alike."""


class Yardstick(Struct, frozen=True):
    """How the distance of a mark from limits of one kind is measured, as the graph states it.

    ``kind`` is the class of limit and ``name`` the property that holds the value (local names);
    ``usual`` names a property that holds what is called usual short of it, if there is one.
    ``is_ceiling`` is true where more is harder and false where less is. A step is ``step`` units,
    or with ``is_ratio`` a factor. Up to ``near`` steps beyond all limits a mark is worth an info,
    up to ``far`` a warning, and farther a violation, but never more than ``gravest``;
    ``gravest_for_technique`` is that for limits of a single technique. ``says_beyond`` and
    ``says_disputed`` are message templates, with braces for the figure.
    """

    iri: str
    kind: str
    name: str
    usual: str | None
    is_ceiling: bool
    is_ratio: bool
    step: Fraction
    near: Fraction
    far: Fraction
    gravest: Severity
    gravest_for_technique: Severity
    says_beyond: str
    says_disputed: str

    def beyond(self, limit: Fraction, steps: Fraction) -> Fraction:
        """The value this many steps beyond a limit."""
        if self.is_ratio:
            factor = Fraction(round(float(self.step) ** float(steps) * _EXACT), _EXACT)
            value = limit * factor if self.is_ceiling else limit / factor
        else:
            value = limit + steps * self.step if self.is_ceiling else limit - steps * self.step
        return Fraction(round(value * _EXACT), _EXACT)

    def exceeds(self, value: Fraction, limit: Fraction) -> bool:
        """Whether a value lies beyond a limit."""
        return value > limit if self.is_ceiling else value < limit

    def order(self, value: Fraction) -> Fraction:
        """A key that grows as values become harder."""
        return value if self.is_ceiling else -value


class Zone(Struct, frozen=True):
    """A range of values on which the verdict is the same.

    It holds values beyond ``beyond`` and not beyond ``up_to``; ``None`` is an open end.
    ``severity`` is that of a finding there, ``None`` for none. ``opposed_by`` and ``permitted_by``
    are the limits on either side, the most permitting first; ``farthest`` is the most permitting
    of all, from which the distance is measured.
    """

    beyond: Fraction | None
    up_to: Fraction | None
    verdict: Verdict
    severity: Severity | None
    opposed_by: tuple[Limit, ...]
    permitted_by: tuple[Limit, ...]
    farthest: Limit


class Weighing(Struct, frozen=True):
    """The zones of one yardstick in one scope, easiest first.

    ``topics`` holds what the limits are about beside their scope: properties (local names) with
    IRIs.
    """

    yardstick: Yardstick
    topics: Mapping[str, str]
    zones: tuple[Zone, ...]

    def at(self, value: Fraction | int) -> Zone:
        """The zone that holds a value."""
        measured = Fraction(value)
        for zone in self.zones:
            if zone.up_to is None or not self.yardstick.exceeds(measured, zone.up_to):
                return zone
        raise AssertionError("the last zone has no end")

    @property
    def first_reported(self) -> Fraction | None:
        """The value beyond which findings begin, ``None`` where there are none."""
        starts = (zone.beyond for zone in self.zones if zone.severity is not None)
        return next(starts, None)

    @property
    def limits(self) -> tuple[Limit, ...]:
        """All limits of the zones."""
        found = (limit for z in self.zones for limit in (*z.permitted_by, *z.opposed_by))
        return tuple({limit.iri: limit for limit in found}.values())


class Ladder(Struct, frozen=True):
    """Levels of player by rank, the least experienced lowest; ``assumed`` is the default."""

    ranks: Mapping[str, int]
    assumed: int

    def rank(self, level: str | None) -> int:
        """The rank of a level (an IRI), or of the assumed level if ``None``."""
        return self.assumed if level is None else self.ranks.get(level, self.assumed)


class _Voice(Struct, frozen=True):
    """A limit with the value it sets; beyond ``usual`` it objects already."""

    limit: Limit
    value: Fraction
    usual: Fraction


def weigh(
    limits: Sequence[Limit],
    yardstick: Yardstick,
    level: str | None,
    ladder: Ladder,
    dynamics: Mapping[str, Dynamic],
) -> tuple[Zone, ...]:
    """Weigh limits about the same thing for players of a level (an IRI).

    A ceiling for a level binds that level and those below, and permits those at and above it; one
    that names no level is for the players that the graph assumes, who are professionals: it binds
    everybody, and permits students where no ceiling for students is stated. Scores, and books
    that state "at least", permit and do not bind. Without a limit that binds on this yardstick
    there are no zones.
    """
    voices = [
        voice for limit in limits if (voice := _voice(limit, yardstick, dynamics)) is not None
    ]
    mine = ladder.rank(level)
    binding = [
        voice
        for voice in voices
        if voice.limit.claim != "at least so far"
        and (voice.limit.level is None or ladder.rank(voice.limit.level) >= mine)
    ]
    if not binding:
        return ()
    permitting = _permitting(voices, binding, mine, ladder)
    farthest = max(permitting, key=lambda voice: yardstick.order(voice.value))
    ends = {voice.value for voice in permitting}
    ends |= {end for voice in binding for end in (voice.value, voice.usual)}
    ends |= {yardstick.beyond(farthest.value, steps) for steps in (yardstick.near, yardstick.far)}
    ordered = sorted(ends, key=yardstick.order)
    gravest = yardstick.gravest
    if binding[0].limit.technique is not None:
        gravest = yardstick.gravest_for_technique
    weighed = _Weighed(yardstick, permitting, binding, farthest, gravest)
    zones = [weighed.zone(None, ordered[0])]
    zones += [weighed.zone(*both) for both in pairwise([*ordered, None])]
    return tuple(_joined(zones))


class _Weighed(Struct, frozen=True):
    """Limits that permit and limits that bind, with the most permitting of all."""

    yardstick: Yardstick
    permitting: Sequence[_Voice]
    binding: Sequence[_Voice]
    farthest: _Voice
    gravest: Severity

    def zone(self, beyond: Fraction | None, up_to: Fraction | None) -> Zone:
        """The zone between two neighboring ends."""
        exceeds = self.yardstick.exceeds

        def allows(end: Fraction) -> bool:
            return up_to is not None and not exceeds(up_to, end)

        permitting = [voice for voice in self.permitting if allows(voice.value)]
        opposing = [voice for voice in self.binding if not allows(voice.usual)]
        verdict, severity = self._judge(up_to, permitting, opposing)
        return Zone(
            beyond,
            up_to,
            verdict,
            severity,
            self._named(opposing),
            self._named(permitting),
            self.farthest.limit,
        )

    def _judge(
        self, up_to: Fraction | None, permitting: Sequence[_Voice], opposing: Sequence[_Voice]
    ) -> tuple[Verdict, Severity | None]:
        if any(v.limit.claim == "bound" and not self._reaches(v, up_to) for v in opposing):
            return "not allowed", self.gravest
        if not opposing:
            return "allowed", None
        if permitting:
            # reached by scores alone: rare enough to mention
            weighty = any(voice.limit.disputes for voice in opposing) or all(
                voice.limit.claim == "at least so far" for voice in permitting
            )
            return "disputed", "info" if weighty else None
        if up_to is not None and not self._farther(up_to, self.yardstick.near):
            return "unusual", "info"
        sure = any(voice.limit.condemns for voice in opposing)
        if (up_to is not None and not self._farther(up_to, self.yardstick.far)) or not sure:
            return "unusual", _milder("warning", self.gravest)
        return "not allowed", self.gravest

    def _reaches(self, voice: _Voice, up_to: Fraction | None) -> bool:
        return up_to is not None and not self.yardstick.exceeds(up_to, voice.value)

    def _farther(self, value: Fraction, steps: Fraction) -> bool:
        return self.yardstick.exceeds(value, self.yardstick.beyond(self.farthest.value, steps))

    def _named(self, voices: Iterable[_Voice]) -> tuple[Limit, ...]:
        order = self.yardstick.order
        by_value = sorted(voices, key=lambda v: (-order(v.value), v.limit.iri))
        return tuple({voice.limit.iri: voice.limit for voice in by_value}.values())


def _permitting(
    voices: Sequence[_Voice], binding: Sequence[_Voice], mine: int, ladder: Ladder
) -> Sequence[_Voice]:
    """The limits on how far players of this rank may go; a bound only marks the absolute end.

    Where no limit is stated for such players, those of the next higher rank apply.
    """
    ranks = [ladder.rank(v.limit.level) for v in binding if v.limit.claim != "bound"]
    reach = max(mine, min(ranks, default=mine))
    return [
        voice
        for voice in voices
        if voice.limit.claim != "bound" and ladder.rank(voice.limit.level) <= reach
    ] or binding


def _voice(limit: Limit, yardstick: Yardstick, dynamics: Mapping[str, Dynamic]) -> _Voice | None:
    value, usual = (
        _number(limit.values.get(name), dynamics) if name else None
        for name in (yardstick.name, yardstick.usual)
    )
    if value is None and usual is None:
        return None
    end = value if value is not None else usual
    assert end is not None
    return _Voice(limit, end, end if usual is None else usual)


def _number(value: Value | None, dynamics: Mapping[str, Dynamic]) -> Fraction | None:
    """A value as a number: semitones of a pitch, degrees of a dynamic, 1 or 0 of a permission."""
    if value is None:
        return None
    if isinstance(value, str):
        if value in dynamics:
            return dynamics[value].degree
        return Fraction(Pitch.parse(value).midi)
    return Fraction(value)


def _milder(one: Severity, other: Severity) -> Severity:
    return min(one, other, key=rank)


def _joined(zones: Sequence[Zone]) -> Iterator[Zone]:
    """Join neighboring zones with the same verdict and the same limits."""
    held = zones[0]
    for zone in zones[1:]:
        if _said(zone) == _said(held):
            held = replace(held, up_to=zone.up_to)
        else:
            yield held
            held = zone
    yield held


def _said(zone: Zone) -> tuple[Verdict, Severity | None, tuple[Limit, ...], tuple[Limit, ...]]:
    return zone.verdict, zone.severity, zone.opposed_by, zone.permitted_by
