"""Calls for a string that nobody ends, and a line that climbs beyond what it holds."""

from collections.abc import Iterator, Sequence
from fractions import Fraction

from orchq.derive.circumstances import Circumstances, level_of_players
from orchq.derive.noteheads import is_harmonic
from orchq.derive.placed import Placed
from orchq.derive.standing import Doubt
from orchq.derive.states import called_string
from orchq.knowledge import Directive, InstrumentString
from orchq.score import Mark

_ENDS = frozenset({"StringCall", "TempoWord", "BarlineSign"})
"""Kinds of directives after which nobody holds on to an earlier call for a string."""


def forgotten_calls(around: Circumstances, placed: Sequence[Placed]) -> Iterator[Doubt]:
    """Yield the calls for a string, printed as words, whose end seems to have been forgotten.

    High notes in the measures of the call itself are reported as too high for the string. After
    these the first note is asked about that lies higher than even soloists play on the string, as
    long as the word is still before the player's eyes (``measures-of-a-forgotten-call``). Where the
    line has gone on without a rest the word still binds, so that the note contradicts it; else it
    is a question.
    """
    if not placed:
        return
    staff = placed[0].event.staff
    marks = sorted(
        (mark for mark in around.part.marks if mark.staff in (None, staff)),
        key=lambda mark: mark.onset,
    )
    for number, mark in enumerate(marks):
        for call in _directives(around, mark):
            if "StringCall" in call.kinds:
                end = _printed_end(around, call, marks[number + 1 :])
                yield from _climbing(around, placed, mark, call, end)


def _directives(around: Circumstances, mark: Mark) -> list[Directive]:
    known = around.knowledge.directives
    return [known[iri] for iri in mark.directives if iri in known]


def _printed_end(around: Circumstances, call: Directive, later: Sequence[Mark]) -> Fraction | None:
    """Where a word ends a call, or something new begins."""
    for mark in later:
        for directive in _directives(around, mark):
            if call.iri in directive.cancels or not directive.kinds.isdisjoint(_ENDS):
                return mark.onset
    return None


def _climbing(
    around: Circumstances,
    placed: Sequence[Placed],
    mark: Mark,
    call: Directive,
    end: Fraction | None,
) -> Iterator[Doubt]:
    own = int(around.knowledge.judged("measures-of-a-call"))
    seen = int(around.knowledge.judged("measures-of-a-forgotten-call"))
    grounds = around.knowledge.doubt_grounds
    for item in placed:
        event = item.event
        since = event.measure_index - mark.measure_index
        if event.onset < mark.onset or not event.notes:
            continue
        if since >= seen or (end is not None and event.onset >= end):
            return
        if item.leaves is not None:
            return
        string = called_string(call, item.in_force.strings, around.instrument)
        if since >= own and string is not None and _is_far_up(around, item, string):
            bound = item.in_force.string_call == call.iri
            ground = next(each for each in grounds if each.at_height and each.contradicts is bound)
            yield Doubt(call.iri, mark, ground, event)
            return


def _is_far_up(around: Circumstances, item: Placed, string: InstrumentString) -> bool:
    """Whether the lowest note lies so far up the string that rules would warn soloists of it."""
    strings = item.in_force.strings
    if string.pitch == max(each.pitch for each in strings) or is_harmonic(item, around.knowledge):
        return False
    height = min(note.pitch.midi for note in item.event.notes) - string.pitch.midi
    weighings = around.knowledge.weighings(
        "StringCallHeight",
        around.instrument,
        technique=None,
        level=level_of_players(several=False),
        trust=around.trust,
    )
    zones = [weighing.at(height) for weighing in weighings]
    return any(zone.severity not in (None, "info") for zone in zones)
