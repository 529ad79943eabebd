"""How fast strokes, plucked notes and double stops follow each other."""

from collections.abc import Callable, Iterator, Sequence
from collections.abc import Set as AbstractSet

from msgspec import Struct
from pyoxigraph import NamedNode, Quad

from orchq.derive.changes import PIZZICATO
from orchq.derive.circumstances import Circumstances, Fact, rate_in_words
from orchq.derive.lines import Attack, Line
from orchq.exact import Fraction
from orchq.terms import oq

LEGATO, DETACHE = oq("legato").value, oq("detache").value
SLURRED_STACCATO, STACCATO = oq("slurred-staccato").value, oq("staccato").value
_LEFT_TO_THE_PLAYER = frozenset({LEGATO, DETACHE})
SHORTEST = 4
"""The fewest even notes that make a run where the stroke is named, or that are plucked."""
_CHORD = 3
"""Two notes are plucked as one is, by two fingers; more are swept."""
_SHORTEST_UNNAMED = 8
"""The fewest where the player chooses the stroke: a few quick notes are an ornament."""


class Run(Struct, frozen=True):
    """Attacks of one length that follow each other, from the first to the last of ``count``.

    ``stroke`` is the technique (an IRI) whose rates count, ``asked`` whether it is asked for
    rather than chosen by the player; ``stroke`` is ``None`` for double stops.
    """

    first: Attack
    last: Attack
    count: int
    stroke: str | None = None
    asked: bool = False


class Rates:
    """Finds runs in one part; triples name those so fast or so slow that rules report them."""

    def __init__(self, around: Circumstances) -> None:
        self._around = around
        techniques = around.knowledge.techniques
        self._many_notes = frozenset(iri for iri, t in techniques.items() if t.many_notes)
        self._stroke_of: dict[frozenset[str], str | None] = {}
        self._measured = frozenset(
            limit.technique for limit in around.knowledge.limits if limit.kind == "RateLimit"
        )

    def quads(
        self, lines: Sequence[Line], undivided: AbstractSet[str] = frozenset()
    ) -> Iterator[Quad]:
        """Yield the triples of the lines of one staff.

        ``undivided`` are the events (IRIs) at which each player of a section has to take all
        notes.
        """
        for line in lines:
            for run in self.runs(line):
                yield from self._run(run)
            for run in self.stop_runs(line):
                yield from self._stops(run)
            for first, last in runs_of(line.attacks, _changes_stop):
                start = line.attacks[first]
                if last - first + 1 >= SHORTEST and start.event.iri in undivided:
                    yield from self._stops(Run(start, line.attacks[last], last - first + 1))
            for first, last in runs_of(line.attacks, self._next_plucked_chord):
                if last - first + 1 >= SHORTEST:
                    yield from self._chords(line.attacks[first], line.attacks[last], last - first)

    def runs(self, line: Line) -> Iterator[Run]:
        """Yield the even runs of one stroke, long enough to count, whatever their rate."""
        attacks = line.attacks
        for first, last in runs_of(attacks, self._goes_on):
            start, count = attacks[first], last - first + 1
            stroke = self._stroke(start)
            if stroke is not None and count >= (SHORTEST if stroke[1] else _SHORTEST_UNNAMED):
                yield Run(start, attacks[last], count, *stroke)

    def stop_runs(self, line: Line) -> Iterator[Run]:
        """Yield the runs of double stops of one player, long enough to count."""
        attacks = line.attacks
        for first, last in runs_of(attacks, self._next_stop):
            if last - first + 1 >= SHORTEST:
                yield Run(attacks[first], attacks[last], last - first + 1)

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
        """The stroke asked for; empty if the player chooses; ``None`` if rates do not count."""
        if not self._many_notes.isdisjoint(techniques):
            return None
        kinds = {iri: self._around.kinds(iri) for iri in techniques}
        narrower = [
            iri
            for iri, kind in sorted(kinds.items())
            if "PluckedTechnique" in kind and iri in self._measured and iri != PIZZICATO
        ]
        if narrower or PIZZICATO in techniques:
            return narrower[0] if narrower else PIZZICATO
        if any("PluckedTechnique" in kind or "StickTechnique" in kind for kind in kinds.values()):
            return None
        named = [
            iri
            for iri, kind in sorted(kinds.items())
            if "BowStroke" in kind and iri in self._measured and iri not in _LEFT_TO_THE_PLAYER
        ]
        return named[0] if named else ""

    def _run(self, run: Run) -> Iterator[Quad]:
        assert run.stroke is not None
        in_force = run.first.in_force
        reported = self._around.first_reported
        fastest = reported("RateLimit", "fastestRate", in_force, run.stroke)
        slowest = reported("RateLimit", "slowestRate", in_force, run.stroke)
        span = self._around.clock.span(run.first.onset, run.last.onset)
        least = Fraction(run.count - 1) / span.most if span.most else None
        most = Fraction(run.count - 1) / span.least if span.least else None
        plucked = "PluckedTechnique" in self._around.kinds(run.stroke)
        kind = "PluckedRun" if plucked else "StrokeRun"
        fact = Fact(run.first.event, f"run-{kind.lower()}", kind)
        if least is not None and fastest is not None and least >= fastest:
            fact.say("notesPerSecond", least)
            fact.say("rateSaid", rate_in_words(least, span.slow_tempo))
            fact.say("atPrintedTempo", span.slow_tempo is None)
        elif run.asked and most is not None and slowest is not None and most <= slowest:
            fact.say("mostNotesPerSecond", most)
            fact.say("rateSaid", rate_in_words(most, span.fast_tempo))
        else:
            return
        fact.say("playsStroke", NamedNode(run.stroke))
        fact.under(self._around.scope(in_force, run.stroke))
        yield from fact.quads

    # ------------------------------------------------------------ double stops

    def _next_stop(self, before: Attack, now: Attack) -> bool:
        """Whether one player has a double stop after another."""
        return not self._around.has_several_players(now.in_force) and _changes_stop(before, now)

    def _stops(self, run: Run) -> Iterator[Quad]:
        in_force = run.first.in_force
        span = self._around.clock.span(run.first.onset, run.last.onset)
        fastest = self._around.first_reported("DoubleStopRate", "mostStopsPerSecond", in_force)
        if not span.most or fastest is None or (run.count - 1) / span.most < fastest:
            return
        fact = Fact(run.first.event, "stop-run", "DoubleStopRun")
        fact.say("stopsPerSecond", (run.count - 1) / span.most)
        fact.say("rateSaid", rate_in_words((run.count - 1) / span.most, span.slow_tempo))
        fact.under(self._around.scope(in_force))
        yield from fact.quads

    # ---------------------------------------------------------- plucked chords

    def _next_plucked_chord(self, before: Attack, now: Attack) -> bool:
        """Whether a chord of three notes or more follows another, both plucked by everybody.

        Fingers that go to and fro, as on a guitar, pluck more quickly and have words of their own.
        """
        return (
            min(len(before.event.notes), len(now.event.notes)) >= _CHORD
            and now.follows
            and before.length == now.length
            and self._stroke(before) == self._stroke(now) == (PIZZICATO, True)
            and now.in_force.parts is None
        )

    def _chords(self, first: Attack, last: Attack, count: int) -> Iterator[Quad]:
        span = self._around.clock.span(first.onset, last.onset)
        kind, figure = "PluckedChordRate", "mostChordsPerSecond"
        fastest = self._around.first_reported(kind, figure, first.in_force)
        if not span.most or fastest is None or count / span.most < fastest:
            return
        fact = Fact(first.event, "chord-run", "PluckedChordRun")
        fact.say("chordsPerSecond", count / span.most)
        fact.say("rateSaid", rate_in_words(count / span.most, span.slow_tempo))
        fact.under(self._around.scope(first.in_force))
        yield from fact.quads


def _changes_stop(before: Attack, now: Attack) -> bool:
    """Whether a double stop follows another with which it has no note in common."""
    return (
        len(before.event.notes) > 1
        and len(now.event.notes) > 1
        and now.follows
        and before.length == now.length
        and before.midis.isdisjoint(now.midis)
        and PIZZICATO not in now.in_force.techniques
    )


def runs_of(
    attacks: Sequence[Attack], goes_on: Callable[[Attack, Attack], bool]
) -> Iterator[tuple[int, int]]:
    """First and last place of each longest run of two attacks or more."""
    first = 0
    for place in range(1, len(attacks) + 1):
        if place == len(attacks) or not goes_on(attacks[place - 1], attacks[place]):
            if place - 1 > first:
                yield first, place - 1
            first = place
