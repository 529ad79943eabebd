"""How long one bow lasts, and what has to be played in it."""

from collections.abc import Iterator, Mapping, Sequence
from itertools import pairwise

from msgspec import Struct
from pyoxigraph import NamedNode, Quad

from orchq.derive.changes import PIZZICATO
from orchq.derive.circumstances import Circumstances, Fact, in_words, shortened, values_of
from orchq.derive.lines import Attack, Line, Slurred
from orchq.derive.placed import InForce
from orchq.exact import Fraction
from orchq.knowledge import Dynamic, Limit
from orchq.terms import oq

RICOCHET, RETAKE = oq("ricochet").value, oq("bow-retake").value
_SLOW, _FAST = "slowestMetresPerSecond", "fastestMetresPerSecond"
STROKES = frozenset({oq("down-bow").value, oq("up-bow").value})
"""The directions of the bow."""


class BowTime(Struct, frozen=True):
    """The duration of one bow: meters of ``hair`` divided by its speed in meters per second.

    ``fastest`` is the fast end of the usual speed at the dynamic ``stated``, ``slowest`` the slow
    end at the next ``softer`` one, and ``slowest_at_any`` that at the softest. ``limits`` are those
    that the longest time rests on, ``fast_limits`` those that the shortest does beside the hair.
    """

    stated: Dynamic
    softer: Dynamic
    hair: Fraction
    fastest: Fraction
    slowest: Fraction
    slowest_at_any: Fraction
    limits: tuple[Limit, ...]
    fast_limits: tuple[Limit, ...]

    @property
    def shortest(self) -> Fraction:
        """Seconds of a whole bow as fast as is usual at the dynamic."""
        return self.hair / self.fastest

    @property
    def longest(self) -> Fraction:
        """Seconds of a whole bow as slow as it can go under a long slur at the dynamic."""
        return self.hair / self.slowest

    @property
    def at_any(self) -> Fraction:
        """Seconds of a whole bow as slow as it can go at any dynamic."""
        return self.hair / self.slowest_at_any


def bow_time(
    dynamics: Mapping[str, Dynamic],
    dynamic: Dynamic | None,
    lengths: Sequence[Limit],
    speeds: Sequence[Limit],
) -> BowTime | None:
    """Return how long a bow can last at a dynamic, or at any dynamic if none is given.

    The louder, the shorter. A dynamic without a stated speed counts as the next louder one with
    one, or as the loudest. The slow end is that of the next softer dynamic with a speed, since
    under a long slur a player gives up some loudness before the slur. Returns ``None`` where the
    limits in force give no numbers.
    """
    hair = max(values_of(lengths, "usableMetres"), default=None)
    stated: dict[int, list[Limit]] = {}
    for limit in speeds:
        about = dynamics.get(str(limit.values.get("limitsDynamic")))
        if about is not None and {_SLOW, _FAST} <= limit.values.keys():
            stated.setdefault(about.rank, []).append(limit)
    if hair is None or not stated:
        return None
    ranks = sorted(stated)
    asked = dynamic.rank if dynamic else ranks[0]
    own = next((rank for rank in ranks if rank >= asked), ranks[-1])
    softer = max((rank for rank in ranks if rank < own), default=own)
    return BowTime(
        stated=dynamics[str(stated[own][0].values["limitsDynamic"])],
        softer=dynamics[str(stated[softer][0].values["limitsDynamic"])],
        hair=hair,
        fastest=max(values_of(stated[own], _FAST)),
        slowest=min(values_of(stated[softer], _SLOW)),
        slowest_at_any=min(values_of(speeds, _SLOW)),
        limits=(*lengths, *stated[softer]),
        fast_limits=tuple(stated[own]),
    )


def time_in(around: Circumstances, in_force: InForce) -> BowTime | None:
    """Return how long a bow can last at what is in force for an event; ``None`` as above."""
    dynamics = around.knowledge.dynamics
    lengths, speeds = (around.limits(kind, in_force) for kind in ("BowLength", "BowSpeed"))
    return bow_time(dynamics, dynamics.get(in_force.dynamic or ""), lengths, speeds)


class Bowing:
    """Finds long bows, throws and repeated directions of the bow in one part."""

    def __init__(self, around: Circumstances) -> None:
        self._around = around
        self._pace = around.clock.slowest_fast_end
        self._times: dict[tuple[str | None, str], tuple[BowTime | None, Fraction]] = {}
        techniques = around.knowledge.techniques.items()
        self.directions = frozenset(iri for iri, t in techniques if "BowDirection" in t.kinds)
        self._tremolos = frozenset(
            iri for iri, t in techniques if t.many_notes and "BowStroke" in t.kinds
        )
        self._short = frozenset(iri for iri, t in techniques if t.ends_early)

    def quads(self, lines: Sequence[Line]) -> Iterator[Quad]:
        """Yield the triples of the lines of one staff."""
        for line in lines:
            yield from self._slurs(line)
            yield from self._held(line)
            for before, now, sign in self.returns(line):
                yield from self._return(before, now, sign)

    def bows(self, line: Line) -> Iterator[Slurred]:
        """Yield the slurs that show one bow: no phrase, no throw, nothing plucked or in tremolo."""
        for slur in line.slurs:
            in_force = line.attacks[slur.first].in_force
            thrown = RICOCHET in in_force.techniques
            if not thrown and not slur.is_phrase and self._is_bowed(in_force):
                yield slur

    def returns(self, line: Line) -> Iterator[tuple[Attack, Attack, str]]:
        """Yield pairs of attacks in one printed direction (an IRI), without a sign to hook them."""
        for before, now in pairwise(line.attacks):
            signs = STROKES & before.event.marks & now.event.marks
            if not signs or now.joined or not self._short.isdisjoint(before.event.marks):
                continue
            if PIZZICATO not in now.in_force.techniques:
                yield before, now, min(signs)

    # ---------------------------------------------------------------- long bows

    def _slurs(self, line: Line) -> Iterator[Quad]:
        for slur in line.slurs:
            first, last = line.attacks[slur.first], line.attacks[slur.last]
            if RICOCHET in first.in_force.techniques:
                yield from self._throw(first, slur.last - slur.first + 1)
            elif not slur.is_phrase:
                yield from self._long_bow("LongSlur", first, last.end - first.onset)

    def _held(self, line: Line) -> Iterator[Quad]:
        under_slurs = {slur.first for slur in line.slurs}
        for place, attack in enumerate(line.attacks):
            if not attack.joined and place not in under_slurs:
                yield from self._long_bow("LongNote", attack, attack.length)

    def _long_bow(self, kind: str, first: Attack, length: Fraction) -> Iterator[Quad]:
        in_force = first.in_force
        time, least = self._time(in_force)
        # Nearly all notes are too short at any tempo of the score.
        if time is None or length < least or not self._is_bowed(in_force):
            return
        span = self._around.clock.span(first.onset, first.onset + length)
        if span.least is None or span.least < time.longest:
            return
        several = self._around.has_several_players(in_force)
        fact = Fact(first.event, f"bow-{kind.lower()}", kind)
        fact.say("lastsSeconds", span.least)
        fact.say("bowSeconds", time.longest)
        fact.say("slowestBowSeconds", time.at_any)
        fact.say("hasSeveralPlayers", several)
        fact.say("timeSaid", in_words(span.least, span.fast_tempo))
        fact.say("bowSaid", self._bow_in_words(time, in_force.dynamic))
        fact.resting_on(*time.limits)
        yield from fact.quads

    def _bow_in_words(self, time: BowTime, dynamic: str | None) -> str:
        if dynamic is None or time.longest == time.at_any:
            return f"{shortened(time.longest)} s at the softest"
        where = self._around.knowledge.label(dynamic)
        return f"{shortened(time.longest)} s at {where}, drawn as slowly as at {time.softer.label}"

    def _time(self, in_force: InForce) -> tuple[BowTime | None, Fraction]:
        """The time of a bow, and the least number of quarter notes in it."""
        key = in_force.dynamic, self._around.level_of(in_force)
        if key not in self._times:
            time = time_in(self._around, in_force) if self._pace else None
            least = time.longest * self._pace / 60 if time and self._pace else Fraction(0)
            self._times[key] = time, least
        return self._times[key]

    def _is_bowed(self, in_force: InForce) -> bool:
        return self._tremolos.isdisjoint(in_force.techniques) and self._around.is_on_hair(in_force)

    # -------------------------------------------------------- throws, directions

    def _throw(self, first: Attack, count: int) -> Iterator[Quad]:
        fact = Fact(first.event, "throw", "Throw")
        fact.say("notesInThrow", count)
        fact.under(self._around.scope(first.in_force, RICOCHET))
        yield from fact.quads

    def _return(self, before: Attack, now: Attack, sign: str) -> Iterator[Quad]:
        span = self._around.clock.span(before.onset, now.onset)
        if span.most is None:
            return
        fact = Fact(now.event, "retake", "BowReturn")
        fact.say("changesInto", NamedNode(RETAKE))
        fact.say("repeatsSign", NamedNode(sign))
        fact.say("secondsAtHand", span.most)
        fact.say("timeSaid", in_words(span.most, span.slow_tempo))
        fact.under(self._around.scope(now.in_force))
        yield from fact.quads
