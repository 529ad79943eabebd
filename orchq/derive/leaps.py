"""How fast the left hand has to travel between neighbouring notes."""

from collections.abc import Callable, Iterator, Sequence
from functools import lru_cache
from itertools import pairwise

from pyoxigraph import Quad

from orchq.derive.circumstances import Circumstances, Fact, in_words
from orchq.derive.hand import HandModel
from orchq.derive.hand.geometry import stop_mm
from orchq.derive.lines import Attack, Line
from orchq.derive.noteheads import is_harmonic
from orchq.derive.states import InForce
from orchq.exact import Fraction
from orchq.knowledge import Knowledge


def leap_quads(
    around: Circumstances, lines: Sequence[Line], model_of: Callable[[InForce], HandModel | None]
) -> Iterator[Quad]:
    """Yield the triples of leaps so fast that rules report them.

    The strings are chosen for the least travel between the two notes; an open string frees the
    hand, and so does a rest. The time runs from attack to attack.
    """
    for line in lines:
        found = list(leaps(line, around.knowledge))
        for before, now in found:
            yield from _leap(around, before, now, model_of)
        for row in _rows(found, around.knowledge):
            yield from _row(around, row, model_of)
        for slur in line.slurs:
            if not slur.is_phrase:
                attacks = line.attacks[slur.first : slur.last + 1]
                yield from _crossings(around, attacks, model_of)


def leaps(line: Line, knowledge: Knowledge) -> Iterator[tuple[Attack, Attack]]:
    """Yield single notes, no harmonics, that lie an octave or more from the one before."""
    narrowest = knowledge.judged("narrowest-leap")
    for before, now in pairwise(line.attacks):
        notes = before.event.notes, now.event.notes
        if not now.follows or len(notes[0]) != 1 or len(notes[1]) != 1:
            continue
        if abs(notes[0][0].pitch.midi - notes[1][0].pitch.midi) < narrowest:
            continue
        if not any(is_harmonic(each.item, knowledge) for each in (before, now)):
            yield before, now


def _leap(
    around: Circumstances,
    before: Attack,
    now: Attack,
    model_of: Callable[[InForce], HandModel | None],
) -> Iterator[Quad]:
    low, high = before.event.notes[0].pitch, now.event.notes[0].pitch
    fastest = around.first_reported("HandTravel", "fastestHandTravel", now.in_force)
    span = around.clock.span(before.onset, now.onset)
    if fastest is None or not span.most:
        return
    model = model_of(now.in_force)
    distance = travel(model, low.midi, high.midi) if model else None
    if distance is None or distance / span.most < fastest:
        return
    fact = Fact(now.event, "leap", "HandLeap")
    fact.say("travelSpeed", distance / span.most)
    fact.say("notesSaid", f"{low.name} to {high.name}")
    fact.say("timeSaid", in_words(span.most, span.slow_tempo))
    fact.under(around.scope(now.in_force))
    yield from fact.quads


def _rows(
    found: Sequence[tuple[Attack, Attack]], knowledge: Knowledge
) -> Iterator[list[tuple[Attack, Attack]]]:
    """Yield the leaps that follow each other without a step between, where they are many."""
    row: list[tuple[Attack, Attack]] = []
    fewest = knowledge.judged("leaps-in-a-row")
    for pair in found:
        if row and row[-1][1] is not pair[0]:
            if len(row) >= fewest:
                yield row
            row = []
        row.append(pair)
    if len(row) >= fewest:
        yield row


def _row(
    around: Circumstances,
    row: Sequence[tuple[Attack, Attack]],
    model_of: Callable[[InForce], HandModel | None],
) -> Iterator[Quad]:
    """Leaps in a row: their total distance over their total time."""
    first, last = row[0][0], row[-1][1]
    fastest = around.first_reported("RepeatedTravel", "fastestRepeatedTravel", first.in_force)
    span = around.clock.span(first.onset, last.onset)
    model = model_of(first.in_force)
    if fastest is None or model is None or not span.most:
        return
    ways = [travel(model, *(_pitch(each) for each in pair)) for pair in row]
    if any(way is None for way in ways):
        return
    speed = sum((way for way in ways if way is not None), Fraction(0)) / span.most
    if speed < fastest:
        return
    fact = Fact(first.event, "leap-row", "LeapRow")
    fact.say("travelInARow", speed)
    fact.say("notesSaid", f"{len(row)} leaps from {first.event.notes[0].pitch.name} on")
    fact.say("timeSaid", in_words(span.most, span.slow_tempo))
    fact.under(around.scope(first.in_force))
    yield from fact.quads


def _crossings(
    around: Circumstances,
    attacks: Sequence[Attack],
    model_of: Callable[[InForce], HandModel | None],
) -> Iterator[Quad]:
    """Slurred notes for which the hand is ready only on strings that are not adjacent.

    The bow would have to pass over a string between them without sounding it; on neighbouring
    strings the hand would have to travel faster than it does.
    """
    model = model_of(attacks[0].in_force)
    fastest = around.first_reported("HandTravel", "fastestHandTravel", attacks[0].in_force)
    if model is None or fastest is None:
        return
    found: list[tuple[Fraction, Attack, Attack, str]] = []
    for before, now in pairwise(attacks):
        if {len(before.event.notes), len(now.event.notes)} != {1}:
            continue
        if any(is_harmonic(each.item, around.knowledge) for each in (before, now)):
            continue
        way = travel(model, _pitch(before), _pitch(now), neighbours=True)
        at_best = travel(model, _pitch(before), _pitch(now))
        if not way or at_best is None or at_best >= way:
            continue
        span = around.clock.span(before.onset, now.onset)
        if span.most:
            found.append((way / span.most, before, now, in_words(span.most, span.slow_tempo)))
    quick = [each for each in found if each[0] > fastest]
    if len(quick) < around.knowledge.judged("crossings-in-a-slur"):
        return
    _, before, now, time = min(quick, key=lambda each: each[0])
    fact = Fact(attacks[0].event, "crossing", "SlurredCrossing")
    fact.say("notesSaid", f"{before.event.notes[0].pitch.name} to {now.event.notes[0].pitch.name}")
    fact.say("timeSaid", time)
    yield from fact.quads


def _pitch(attack: Attack) -> int:
    return attack.event.notes[0].pitch.midi


@lru_cache(maxsize=4096)
def travel(model: HandModel, one: int, other: int, *, neighbours: bool = False) -> Fraction | None:
    """The least travel of the hand between two pitches, in millimeters.

    With ``neighbours`` they lie on one string or on two adjacent ones. ``None`` where that is
    impossible, or no string has one of them.
    """
    reach = max(frame.reach_mm(model.level) for frame in model.frames)
    ways = [
        max(0.0, abs(first - second) - reach) if first and second else 0.0
        for string, first in _places(model, one)
        for place, second in _places(model, other)
        if not neighbours or abs(string - place) <= 1
    ]
    return Fraction(round(min(ways))) if ways else None


def _places(model: HandModel, pitch: int) -> list[tuple[int, float]]:
    """The strings that have the note, and where it is stopped in millimeters; 0 for open."""
    heights = ((number, pitch - each) for number, each in enumerate(model.strings))
    return [
        (number, stop_mm(model.length_mm, height))
        for number, height in heights
        if 0 <= height <= model.highest_stop
    ]
