"""How fast strokes, plucked notes and double stops follow each other."""

from collections.abc import Callable, Iterator, Sequence
from fractions import Fraction

from pyoxigraph import NamedNode, Quad

from orchq.derive.changes import PIZZICATO
from orchq.derive.lines import Attack, Line
from orchq.derive.setting import Fact, Setting, rate_in_words, values_of
from orchq.terms import oq

LEGATO, DETACHE = oq("legato").value, oq("detache").value
SLURRED_STACCATO, STACCATO = oq("slurred-staccato").value, oq("staccato").value
_LEFT_TO_THE_PLAYER = frozenset({LEGATO, DETACHE})
_SHORTEST = 4
"""The fewest even notes that make a run where the stroke is named, or that are plucked."""
_SHORTEST_UNNAMED = 8
"""The fewest where the player chooses the stroke: a few quick notes are an ornament."""


class Rates:
    """Finds runs in one part that are as fast as a limit in force, or as slow."""

    def __init__(self, setting: Setting) -> None:
        self._setting = setting
        techniques = setting.knowledge.techniques
        self._many_notes = frozenset(iri for iri, t in techniques.items() if t.many_notes)
        self._stroke_of: dict[frozenset[str], str | None] = {}
        self._measured = frozenset(
            limit.technique for limit in setting.knowledge.limits if limit.kind == "RateLimit"
        )

    def quads(self, lines: Sequence[Line]) -> Iterator[Quad]:
        """Yield the triples of the lines of one staff."""
        for line in lines:
            attacks = line.attacks
            for first, last in _runs(attacks, self._goes_on):
                yield from self._run(attacks, first, last)
            for first, last in _runs(attacks, self._next_stop):
                yield from self._stops(attacks, first, last)

    # ---------------------------------------------------------------- strokes

    def _goes_on(self, before: Attack, now: Attack) -> bool:
        """Whether an attack continues an even run of one stroke.

        Where the player chooses the stroke a repeated pitch ends the run: fast repetition is
        a tremolo.
        """
        if not now.follows or before.length != now.length:
            return False
        stroke = self._stroke(before)
        if stroke is None or stroke != self._stroke(now):
            return False
        return stroke[1] or before.midis != now.midis

    def _stroke(self, attack: Attack) -> tuple[str, bool] | None:
        """The technique whose rates count, and whether it is asked for or chosen."""
        techniques = attack.in_force.techniques
        if techniques not in self._stroke_of:
            self._stroke_of[techniques] = self._named_stroke(techniques)
        named = self._stroke_of[techniques]
        if named is None:
            return None
        if named:
            return named, True
        if not attack.joined:
            return DETACHE, False
        return (SLURRED_STACCATO if STACCATO in attack.event.marks else LEGATO), False

    def _named_stroke(self, techniques: frozenset[str]) -> str | None:
        """The stroke asked for; empty where the player chooses; none where rates do not count."""
        if not self._many_notes.isdisjoint(techniques):
            return None
        if PIZZICATO in techniques:
            return PIZZICATO
        kinds = {iri: self._setting.kinds(iri) for iri in techniques}
        if any("PluckedTechnique" in kind or "StickTechnique" in kind for kind in kinds.values()):
            return None
        named = [
            iri
            for iri, kind in sorted(kinds.items())
            if "BowStroke" in kind and iri in self._measured and iri not in _LEFT_TO_THE_PLAYER
        ]
        return named[0] if named else ""

    def _run(self, attacks: Sequence[Attack], first: int, last: int) -> Iterator[Quad]:
        stroke = self._stroke(attacks[first])
        count = last - first + 1
        if stroke is None or count < (_SHORTEST if stroke[1] else _SHORTEST_UNNAMED):
            return
        start, in_force = attacks[first], attacks[first].in_force
        limits = self._setting.limits("RateLimit", in_force, stroke[0])
        fastest = min(values_of(limits, "fastestRate"), default=None)
        slowest = max(values_of(limits, "slowestRate"), default=None) if stroke[1] else None
        span = self._setting.clock.span(start.onset, attacks[last].onset)
        least = Fraction(count - 1) / span.most if span.most else None
        most = Fraction(count - 1) / span.least if span.least else None
        kind = "PluckedRun" if stroke[0] == PIZZICATO else "StrokeRun"
        fact = Fact(start.event, f"run-{kind.lower()}", kind)
        if least is not None and fastest is not None and least >= fastest:
            fact.say("notesPerSecond", least)
            fact.say("rateSaid", rate_in_words(least, span.slow_tempo))
        elif most is not None and slowest is not None and most <= slowest:
            fact.say("mostNotesPerSecond", most)
            fact.say("rateSaid", rate_in_words(most, span.fast_tempo))
        else:
            return
        fact.say("playsStroke", NamedNode(stroke[0]))
        fact.under(self._setting.scope(in_force, stroke[0]))
        yield from fact.quads

    # ------------------------------------------------------------ double stops

    def _next_stop(self, before: Attack, now: Attack) -> bool:
        """Whether a double stop follows another with which it has no note in common."""
        return (
            len(before.event.notes) > 1
            and len(now.event.notes) > 1
            and now.follows
            and before.length == now.length
            and before.midis.isdisjoint(now.midis)
            and PIZZICATO not in now.in_force.techniques
            and not self._setting.has_several_players(now.in_force)
        )

    def _stops(self, attacks: Sequence[Attack], first: int, last: int) -> Iterator[Quad]:
        count = last - first + 1
        if count < _SHORTEST:
            return
        start, in_force = attacks[first], attacks[first].in_force
        span = self._setting.clock.span(start.onset, attacks[last].onset)
        limits = self._setting.limits("DoubleStopRate", in_force)
        fastest = min(values_of(limits, "mostStopsPerSecond"), default=None)
        if not span.most or fastest is None or (count - 1) / span.most < fastest:
            return
        fact = Fact(start.event, "stop-run", "DoubleStopRun")
        fact.say("stopsPerSecond", (count - 1) / span.most)
        fact.say("rateSaid", rate_in_words((count - 1) / span.most, span.slow_tempo))
        fact.under(self._setting.scope(in_force))
        yield from fact.quads


def _runs(
    attacks: Sequence[Attack], goes_on: Callable[[Attack, Attack], bool]
) -> Iterator[tuple[int, int]]:
    """First and last place of each longest run of two attacks or more."""
    first = 0
    for place in range(1, len(attacks) + 1):
        if place == len(attacks) or not goes_on(attacks[place - 1], attacks[place]):
            if place - 1 > first:
                yield first, place - 1
            first = place
