"""Changes of the way of playing, and the time available for each."""

from bisect import bisect_left
from collections.abc import Iterator, Sequence
from itertools import groupby, pairwise

from msgspec import Struct
from pyoxigraph import NamedNode, Quad

from orchq.derive.circumstances import Circumstances, Fact, in_words
from orchq.derive.placed import Placed
from orchq.derive.states import ARCO, FINAL_BARLINE
from orchq.exact import Fraction
from orchq.score import Part
from orchq.terms import oq

PIZZICATO, SCORDATURA = oq("pizzicato").value, oq("scordatura").value
MUTE_ON, MUTE_OFF = oq("con-sordino").value, oq("senza-sordino").value
FERMATA = oq("tempo-fermata").value
DESK_BY_DESK = oq("desk-by-desk").value
_OPEN_TIME = frozenset({FINAL_BARLINE, FERMATA, DESK_BY_DESK})
STRING_CALL = "StringCall"
"""The kind of a change to a string that is asked for by name; no rule limits its time."""


class _Moment(Struct, frozen=True):
    """What begins together on a staff: its first event, and when the attack before it began."""

    item: Placed
    plucks: bool | None
    muted: bool


class Change(Struct, frozen=True):
    """A change at an event, with the place from which time for it counts, in quarter notes.

    ``kind`` is the class of the derived fact; ``before`` and ``into`` are IRIs of the old and the
    new way of playing, and empty where nothing was asked for.
    """

    kind: str
    item: Placed
    before: str
    into: str
    start: Fraction


def open_times(part: Part) -> list[Fraction]:
    """Places where players take as much time as they need.

    At fermatas and ends of movements it stands still; what is done desk by desk is done by each
    in time.
    """
    return sorted(mark.onset for mark in part.marks if not _OPEN_TIME.isdisjoint(mark.directives))


class Changes:
    """Finds changes in one part."""

    def __init__(self, around: Circumstances) -> None:
        self._around = around
        techniques = around.knowledge.techniques
        self._plucking = frozenset(
            iri for iri, t in techniques.items() if iri == PIZZICATO or PIZZICATO in t.implies
        )
        self._open_time = open_times(around.part)

    def quads(self, placed: Sequence[Placed]) -> Iterator[Quad]:
        """Yield the triples of every change on one staff for which there is a known time."""
        for change in self.found(placed):
            if change.kind != STRING_CALL:
                yield from self._told(change)

    def found(self, placed: Sequence[Placed]) -> Iterator[Change]:
        """Yield the changes on one staff.

        Between plucking and the bow, and to a string asked for, the time runs from attack to
        attack: a plucked string needs the hand no longer, and a short bowed note ends early. For
        mutes and tuning pegs it runs from the end of the sound before. Where the section divides,
        where an arco is missing, where a movement ends and under a fermata nothing is reported.
        """
        if not any(self._manner(a) != self._manner(b) for a, b in pairwise(placed)):
            return
        before: _Moment | None = None
        attack = end = Fraction(0)
        for _, group in groupby(placed, key=lambda item: item.event.onset):
            together = list(group)
            now = self._moment(together)
            goes_on = all(note.tied_back for item in together for note in item.event.notes)
            # a change printed under a sustained note takes place when the note has ended
            if before is None or not goes_on:
                if before is not None and self._has_time_limit(before, now):
                    yield from self._between(before, now, attack, end)
                before, attack = now, now.item.event.onset
            end = max(end, *(item.event.end for item in together))

    def _manner(self, item: Placed) -> tuple[bool, bool, object]:
        """Whether a note is plucked, whether muted, and on which strings."""
        in_force = item.in_force
        plucks = not self._plucking.isdisjoint(in_force.techniques)
        # a mute that may have been forgotten was not taken off in no time
        muted = MUTE_ON in in_force.techniques | in_force.doubtful
        return plucks, muted, (in_force.strings, in_force.string_call)

    def _moment(self, together: Sequence[Placed]) -> _Moment:
        plucks = {self._manner(item)[0] for item in together}
        return _Moment(
            item=together[0],
            plucks=plucks.pop() if len(plucks) == 1 else None,
            muted=self._manner(together[0])[1],
        )

    def _has_time_limit(self, before: _Moment, now: _Moment) -> bool:
        if now.item.arco_missing:
            # where the bow is taken up is not printed
            return False
        if before.item.in_force.parts is not None or now.item.in_force.parts is not None:
            return False
        start, stop = before.item.event.onset, now.item.event.onset
        following = bisect_left(self._open_time, start)
        return following == len(self._open_time) or self._open_time[following] > stop

    def _between(
        self, before: _Moment, now: _Moment, attack: Fraction, end: Fraction
    ) -> Iterator[Change]:
        item, silence = now.item, min(end, now.item.event.onset)
        if {before.plucks, now.plucks} == {True, False}:
            ways = (ARCO, PIZZICATO) if now.plucks else (PIZZICATO, ARCO)
            yield Change("PluckBowChange", item, *ways, attack)
        if before.muted != now.muted:
            ways = (MUTE_OFF, MUTE_ON) if now.muted else (MUTE_ON, MUTE_OFF)
            yield Change("MuteChange", item, *ways, silence)
        if before.item.in_force.strings != item.in_force.strings:
            yield Change("TuningChange", item, "", SCORDATURA, silence)
        call, called_before = item.in_force.string_call, before.item.in_force.string_call
        if call is not None and call != called_before:
            yield Change(STRING_CALL, item, called_before or "", call, attack)

    def _told(self, change: Change) -> Iterator[Quad]:
        event, in_force = change.item.event, change.item.in_force
        span = self._around.clock.span(change.start, event.onset)
        if span.most is None:
            return
        fact = Fact(event, f"change-{change.kind.lower()}", change.kind)
        fact.say("changesInto", NamedNode(change.into))
        fact.say("secondsAtHand", span.most)
        fact.say("timeSaid", in_words(span.most, span.slow_tempo))
        fact.say("atPrintedTempo", span.slow_tempo is None)
        fact.under(self._around.scope(in_force))
        yield from fact.quads
