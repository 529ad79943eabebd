"""How fast the left hand has to travel between neighbouring notes."""

from collections.abc import Callable, Iterator, Sequence
from fractions import Fraction
from functools import lru_cache
from itertools import pairwise

from pyoxigraph import Quad

from orchq.derive.circumstances import Circumstances, Fact, in_words
from orchq.derive.hand import HandModel
from orchq.derive.hand.geometry import stop_mm
from orchq.derive.lines import Attack, Line
from orchq.derive.notes import is_harmonic
from orchq.derive.states import InForce
from orchq.knowledge import Knowledge


def leap_quads(
    around: Circumstances, lines: Sequence[Line], model_of: Callable[[InForce], HandModel | None]
) -> Iterator[Quad]:
    """Yield the triples of leaps so fast that rules report them.

    Of all strings for the two notes those are taken between which the hand travels least; an
    open string frees it, and so does a rest. The time runs from attack to attack.
    """
    for line in lines:
        for before, now in leaps(line, around.knowledge):
            yield from _leap(around, before, now, model_of)


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


@lru_cache(maxsize=4096)
def travel(model: HandModel, one: int, other: int) -> Fraction | None:
    """The least way of the hand between two pitches, in millimetres.

    ``None`` where one of them is on no string.
    """
    reach = max(frame.reach_mm(model.level) for frame in model.frames)
    ways = [
        max(0.0, abs(first - second) - reach) if first and second else 0.0
        for first in _places(model, one)
        for second in _places(model, other)
    ]
    return Fraction(round(min(ways))) if ways else None


def _places(model: HandModel, pitch: int) -> list[float]:
    """Where on each string that has it the note is stopped, in millimetres; 0 for open."""
    heights = (pitch - each for each in model.strings)
    return [stop_mm(model.length_mm, h) for h in heights if 0 <= h <= model.highest_stop]
