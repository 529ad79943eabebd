"""How long one bow lasts, and what has to be played in it."""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from fractions import Fraction
from itertools import pairwise

from pyoxigraph import NamedNode, Quad

from orchq.derive.changes import PIZZICATO
from orchq.derive.circumstances import Circumstances, Fact, in_words, shortened, values_of
from orchq.derive.lines import Attack, Line, Slurred
from orchq.derive.states import InForce
from orchq.knowledge import Limit
from orchq.terms import oq

RICOCHET, RETAKE = oq("ricochet").value, oq("bow-retake").value
_NO_LONG_BOW = frozenset({"PluckedTechnique", "StickTechnique"})


@dataclass(frozen=True, slots=True)
class BowTime:
    """The longest that one bow lasts, in seconds: at a dynamic, and at any.

    ``limits`` are those that the first rests on.
    """

    longest: Fraction
    at_any: Fraction
    limits: tuple[Limit, ...]


def bow_time(around: Circumstances, in_force: InForce) -> BowTime | None:
    """Work out how long a bow can last: usable hair divided by the slow end of its speed.

    The louder, the shorter. The speed is that of the next softer dynamic for which the graph
    has one, since under a long slur a player gives up some loudness before the slur; dynamics
    louder than all that the graph has count as the loudest of them. Returns ``None`` where the
    graph has no numbers.
    """
    lengths = around.limits("BowLength", in_force)
    hair = max(values_of(lengths, "usableMetres"), default=None)
    dynamics = around.knowledge.dynamics
    speeds = sorted(
        (
            (dynamics[str(limit.values["limitsDynamic"])].rank, limit)
            for limit in around.limits("BowSpeed", in_force)
            if str(limit.values.get("limitsDynamic")) in dynamics
            and "slowestMetresPerSecond" in limit.values
        ),
        key=lambda pair: (pair[0], pair[1].iri),
    )
    if hair is None or not speeds:
        return None
    dynamic = dynamics.get(in_force.dynamic or "")
    rank = min(dynamic.rank, speeds[-1][0]) if dynamic else 0
    chosen = [limit for stated, limit in speeds if stated < rank][-1:] or [speeds[0][1]]
    slowest = min(_speed(limit) for _, limit in speeds)
    return BowTime(
        longest=hair / _speed(chosen[0]),
        at_any=hair / slowest,
        limits=(*lengths, *chosen),
    )


def _speed(limit: Limit) -> Fraction:
    return Fraction(limit.values["slowestMetresPerSecond"])


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
        self._strokes = frozenset({oq("down-bow").value, oq("up-bow").value})

    def quads(self, lines: Sequence[Line]) -> Iterator[Quad]:
        """Yield the triples of the lines of one staff."""
        for line in lines:
            yield from self._slurs(line)
            yield from self._held(line)
            for before, now, sign in self.returns(line):
                yield from self._return(before, now, sign)

    def bows(self, line: Line) -> Iterator[Slurred]:
        """Yield the slurs that show one bow: no phrase, no throw, nothing plucked or trembled."""
        for slur in line.slurs:
            in_force = line.attacks[slur.first].in_force
            thrown = RICOCHET in in_force.techniques
            if not thrown and not slur.is_phrase and self._is_bowed(in_force):
                yield slur

    def returns(self, line: Line) -> Iterator[tuple[Attack, Attack, str]]:
        """Yield two attacks that show one direction (an IRI), and nothing that tells to hook it."""
        for before, now in pairwise(line.attacks):
            signs = self._strokes & before.event.marks & now.event.marks
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
        softest = dynamic is None or time.longest == time.at_any
        where = "the softest" if softest else self._around.knowledge.label(str(dynamic))
        return f"{shortened(time.longest)} s at {where}"

    def _time(self, in_force: InForce) -> tuple[BowTime | None, Fraction]:
        """The time of a bow, and how many quarter notes it lasts at the least."""
        key = in_force.dynamic, self._around.level_of(in_force)
        if key not in self._times:
            time = bow_time(self._around, in_force) if self._pace else None
            least = time.longest * self._pace / 60 if time and self._pace else Fraction(0)
            self._times[key] = time, least
        return self._times[key]

    def _is_bowed(self, in_force: InForce) -> bool:
        return self._tremolos.isdisjoint(in_force.techniques) and not any(
            self._around.kinds(iri) & _NO_LONG_BOW for iri in in_force.techniques
        )

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
