"""Strokes by turns on two strings between which two others lie."""

from collections.abc import Iterator, Sequence
from functools import lru_cache

from pyoxigraph import Quad

from orchq.derive.circumstances import Fact, rate_in_words
from orchq.derive.lines import Attack
from orchq.derive.noteheads import is_harmonic
from orchq.derive.rates import runs_of
from orchq.derive.staves import Staff
from orchq.derive.strings import called_strings

_OVER_TWO = 3
"""So many strings on, counted from a string: two lie between."""


def string_skip_quads(staff: Staff) -> Iterator[Quad]:
    """Yield the triples of runs of separate strokes that pass over two strings each time.

    Each note is taken to lie on any string on which the hand has it low down, and else on the one
    where it lies lowest; a call for a string leaves the choice of strings to who wrote it.
    """
    reach = int(staff.knowledge.judged("semitones-low-on-a-string"))
    fewest = int(staff.knowledge.judged("skips-in-a-row"))
    fastest = staff.knowledge.judged("skips-a-second")
    called = called_strings(staff)

    def skips(before: Attack, now: Attack) -> bool:
        notes = (*before.event.notes, *now.event.notes)
        if len(notes) != 2 or not now.follows or now.joined or before.length != now.length:
            return False
        low, high = sorted(note.pitch.midi for note in notes)
        opens = tuple(sorted(each.pitch.midi for each in now.in_force.strings))
        return (
            _apart(opens, low, high, reach) >= _OVER_TWO
            and staff.around.is_on_hair(now.in_force)
            and not any(
                called(each.item) or is_harmonic(each.item, staff.knowledge)
                for each in (before, now)
            )
        )

    for line in staff.lines:
        for first, last in runs_of(line.attacks, skips):
            if last - first < fewest:
                continue
            start, end = line.attacks[first], line.attacks[last]
            span = staff.around.clock.span(start.onset, end.onset)
            if not span.most or (last - first) / span.most < fastest:
                continue
            fact = Fact(start.event, "skip-run", "StringSkipRun")
            after = line.attacks[first + 1].event
            fact.say(
                "notesSaid", f"{start.event.notes[0].pitch.name} and {after.notes[0].pitch.name}"
            )
            fact.say("rateSaid", rate_in_words((last - first) / span.most, span.slow_tempo))
            yield from fact.quads


@lru_cache(1 << 12)
def _apart(opens: Sequence[int], low: int, high: int, reach: int) -> int:
    """How many strings apart two notes lie at least."""
    return min(
        abs(one - other)
        for one in _lying(opens, low, reach)
        for other in _lying(opens, high, reach)
    )


def _lying(opens: Sequence[int], pitch: int, reach: int) -> list[int]:
    """The strings, from 0 for the lowest, where a note lies low; else where it lies lowest."""
    having = [place for place, opened in enumerate(opens) if opened <= pitch]
    low = [place for place in having if pitch - opens[place] <= reach]
    return low or having[-1:] or [0]
