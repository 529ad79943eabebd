"""How fast the left hand has to travel between neighbouring notes."""

from collections.abc import Iterator
from functools import lru_cache
from itertools import pairwise

from pyoxigraph import Quad

from orchq.derive.circumstances import Fact, in_words
from orchq.derive.hand import HandModel
from orchq.derive.hand.geometry import stop_mm
from orchq.derive.lines import Attack, Line
from orchq.derive.noteheads import is_harmonic
from orchq.derive.staves import Staff
from orchq.derive.strings import called_strings
from orchq.exact import Fraction
from orchq.knowledge import InstrumentString, Knowledge


def leap_quads(staff: Staff) -> Iterator[Quad]:
    """Yield the triples of leaps so fast that rules report them.

    The strings are those that are called for, or else chosen for the least travel between the two
    notes; an open string frees the hand, and so does a rest. The time runs from attack to attack.
    """
    called = called_strings(staff)
    for line in staff.lines:
        for before, now in leaps(line, staff.knowledge):
            yield from _leap(staff, before, now, (called(before.item), called(now.item)))


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
    staff: Staff, before: Attack, now: Attack, called: tuple[InstrumentString | None, ...]
) -> Iterator[Quad]:
    around, in_force = staff.around, now.in_force
    low, high = before.event.notes[0].pitch, now.event.notes[0].pitch
    fastest = around.first_reported("HandTravel", "fastestHandTravel", in_force)
    span = around.clock.span(before.onset, now.onset)
    if fastest is None or not span.most:
        return
    model = staff.hand_of(in_force)
    strings = tuple(None if each is None else each.pitch.midi for each in called)
    distance = travel(model, low.midi, high.midi, strings) if model else None
    if distance is None or distance / span.most < fastest:
        return
    fact = Fact(now.event, "leap", "HandLeap")
    fact.say("travelSpeed", distance / span.most)
    fact.say("notesSaid", f"{low.name} to {high.name}")
    fact.say("timeSaid", in_words(span.most, span.slow_tempo))
    fact.under(around.scope(in_force))
    yield from fact.quads


@lru_cache(maxsize=4096)
def travel(
    model: HandModel, one: int, other: int, called: tuple[int | None, ...] = (None, None)
) -> Fraction | None:
    """The least travel of the hand between two pitches, in millimeters.

    ``called`` are the open pitches of the strings that they have to lie on, ``None`` for any.
    ``None`` is returned where no string has one of them.
    """
    reach = max(frame.reach_mm(model.level) for frame in model.frames)
    ways = [
        max(0.0, abs(first - second) - reach) if first and second else 0.0
        for first in _places(model, one, called[0])
        for second in _places(model, other, called[1])
    ]
    return Fraction(round(min(ways))) if ways else None


def _places(model: HandModel, pitch: int, called: int | None) -> list[float]:
    """Where the strings that have the note stop it, in millimeters from the nut; 0 for open."""
    heights = (pitch - each for each in model.strings if called in (None, each))
    return [stop_mm(model.length_mm, each) for each in heights if 0 <= each <= model.highest_stop]
