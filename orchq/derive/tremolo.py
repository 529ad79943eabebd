"""Fingered tremolo, and long bowed tremolo."""

from collections.abc import Callable, Iterator, Sequence
from itertools import pairwise

from pyoxigraph import Quad

from orchq.derive.circumstances import Circumstances, Fact, in_words
from orchq.derive.hand import Grade, StopSolver
from orchq.derive.lines import Attack, Line
from orchq.derive.placed import InForce
from orchq.terms import oq

_OCTAVE = 12
"""Semitones: what is no wider lies under the hand high up on one string, if not on two."""

FINGERED, UNMEASURED = oq("fingered-tremolo").value, oq("tremolo-unmeasured").value


class Tremolos:
    """Finds tremolos in one part.

    ``solver_of`` gives the hand for what is in force, or ``None`` where the graph has none.
    """

    def __init__(
        self, around: Circumstances, solver_of: Callable[[InForce], StopSolver | None]
    ) -> None:
        self._around = around
        self._solver_of = solver_of

    def quads(self, lines: Sequence[Line]) -> Iterator[Quad]:
        """Yield the triples of the lines of one staff."""
        for line in lines:
            yield from self._pairs(line.attacks)
            for stretch in unbroken(line, UNMEASURED):
                yield from self._stretch(stretch[0], stretch[-1])

    # -------------------------------------------------------- tremolo of the fingers

    def _pairs(self, attacks: Sequence[Attack]) -> Iterator[Quad]:
        """Two notes make a fingered tremolo; the next two make another."""
        paired = False
        for before, now in pairwise(attacks):
            both = FINGERED in before.event.marks and FINGERED in now.event.marks
            paired = both and not paired and now.follows
            if paired and len(before.event.notes) == len(now.event.notes) == 1:
                yield from self._pair(before, now)

    def _pair(self, before: Attack, now: Attack) -> Iterator[Quad]:
        notes = sorted((before.event.notes[0].pitch, now.event.notes[0].pitch))
        in_force = before.in_force
        fact = Fact(before.event, "fingered", "FingeredTremolo")
        fact.say("spansSemitones", notes[1].midi - notes[0].midi)
        fact.say("notesSaid", f"{notes[0].name}-{notes[1].name}")
        fact.say("staysOnOneString", self._on_one_string(in_force, [n.midi for n in notes]))
        fact.under(self._around.scope(in_force, FINGERED))
        yield from fact.quads

    def _on_one_string(self, in_force: InForce, midis: Sequence[int]) -> bool:
        """Whether a word asks for one string, or no hand holds the notes on adjacent strings."""
        call = in_force.string_call
        if call is not None and call in self._around.knowledge.directives:
            return True
        solver = self._solver_of(in_force)
        if solver is None:
            return False
        grade = solver.solve(midis).struck.grade
        wide = midis[-1] - midis[0] > _OCTAVE
        return grade is Grade.IMPOSSIBLE or (wide and grade is Grade.IMPRACTICAL)

    # ------------------------------------------------------------ tremolo of the bow

    def _stretch(self, first: Attack, last: Attack) -> Iterator[Quad]:
        longest = self._around.first_reported(
            "DurationLimit", "longestSeconds", first.in_force, UNMEASURED
        )
        span = self._around.clock.span(first.onset, last.end)
        if longest is None or span.least is None or span.least < longest:
            return
        fact = Fact(first.event, "tremolo", "LongTremolo")
        fact.say("lastsSeconds", span.least)
        fact.say("timeSaid", in_words(span.least, span.fast_tempo))
        fact.under(self._around.scope(first.in_force, UNMEASURED))
        yield from fact.quads


def unbroken(line: Line, technique: str) -> Iterator[Sequence[Attack]]:
    """Yield the runs of attacks under one technique (an IRI) without a rest."""
    stretch: list[Attack] = []
    for attack in line.attacks:
        uses = technique in attack.in_force.techniques
        if stretch and not (uses and attack.follows):
            yield stretch
            stretch = []
        if uses:
            stretch.append(attack)
    if stretch:
        yield stretch
