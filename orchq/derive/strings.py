"""Demands on one string: high notes on it, and slides along it."""

from collections.abc import Callable, Iterator, Sequence
from itertools import pairwise

from pyoxigraph import Literal, NamedNode, Quad

from orchq.derive.circumstances import Fact
from orchq.derive.lines import Attack
from orchq.derive.noteheads import is_harmonic
from orchq.derive.placed import InForce, Placed
from orchq.derive.states import called_string
from orchq.derive.staves import Staff
from orchq.knowledge import InstrumentString
from orchq.score import Mark
from orchq.terms import oq

GLISSANDO = oq("glissando").value


def string_quads(staff: Staff) -> Iterator[Quad]:
    """Yield the triples about single strings on a staff."""
    calls = _calls(staff)
    for item in staff.placed:
        since = _measures_since(calls, item)
        if item.leaves is not None and since == 0:
            yield Quad(NamedNode(item.event.iri), oq("leavesAtOnce"), Literal(True))
        yield from _height(staff, item, since)
    for line in staff.lines:
        for before, now in pairwise(line.attacks):
            yield from _slide(staff, before, now)


def called_strings(staff: Staff) -> Callable[[Placed], InstrumentString | None]:
    """Return what tells the string that a word calls for at an event, printed not long ago.

    Numbers at notes are fingering: players change it where it does not suit them.
    """
    calls = _calls(staff)
    return lambda item: _called(staff, item, _measures_since(calls, item))


def _calls(staff: Staff) -> list[Mark]:
    """The words that call for a string, as printed on a staff."""
    return [
        mark
        for mark in staff.part.marks
        if mark.staff in (None, staff.number)
        and any("StringCall" in _kinds(staff, iri) for iri in mark.directives)
    ]


def _kinds(staff: Staff, iri: str) -> frozenset[str]:
    directive = staff.knowledge.directives.get(iri)
    return directive.kinds if directive is not None else frozenset()


def _measures_since(calls: Sequence[Mark], item: Placed) -> int | None:
    """How many measures ago a string was called for by a word, if one was."""
    printed = [call.measure_index for call in calls if call.onset <= item.event.onset]
    return item.event.measure_index - max(printed) if printed else None


# ----------------------------------------------------------------------------- height


def _height(staff: Staff, item: Placed, since: int | None) -> Iterator[Quad]:
    """Yield how high above its open note a string is called for, where rules report it.

    The lowest note of a double stop is on the string. The height of the highest string is a
    matter of the compass. A word that nobody cancels is soon forgotten: high notes long after it
    are played wherever convenient.
    """
    in_force = item.in_force
    string = _asked(staff, item, since)
    if string is None or string.pitch == max(each.pitch for each in in_force.strings):
        return
    most = staff.around.first_reported("StringCallHeight", "highestSemitone", in_force)
    note = min(item.event.notes, key=lambda each: each.pitch)
    height = note.pitch.midi - string.pitch.midi
    if most is None or height < most or note.tied_back or is_harmonic(item, staff.knowledge):
        return
    fact = Fact(item.event, "high-on-string", "HighOnString")
    fact.say("semitonesAbove", height)
    fact.say("noteSaid", note.pitch.name)
    fact.say("onCalledString", NamedNode(string.iri))
    fact.under(staff.around.scope(in_force))
    yield from fact.quads


def _asked(staff: Staff, item: Placed, since: int | None) -> InstrumentString | None:
    """The string that is called for, by a number at the lowest note or a word not long ago."""
    note = min(item.event.notes, key=lambda each: each.pitch)
    strings = item.in_force.strings
    numbered = next((each for each in strings if each.number == note.string), None)
    return numbered if numbered is not None else _called(staff, item, since)


def _called(staff: Staff, item: Placed, since: int | None) -> InstrumentString | None:
    """The string that a word calls for; one that nobody cancels is soon forgotten."""
    if item.in_force.string_call is None:
        return None
    if since is not None and since >= staff.knowledge.judged("measures-of-a-call"):
        return None
    call = staff.knowledge.directives[item.in_force.string_call]
    return called_string(call, item.in_force.strings, staff.around.instrument)


# ----------------------------------------------------------------------------- slides


def _slide(staff: Staff, before: Attack, now: Attack) -> Iterator[Quad]:
    """Yield the slides that no single string can span."""
    notes = before.event.notes, now.event.notes
    if (
        GLISSANDO not in before.event.marks
        or not now.follows
        or {len(notes[0]), len(notes[1])} != {1}
    ):
        return
    if any(is_harmonic(each.item, staff.knowledge) for each in (before, now)):
        return
    low, high = sorted((notes[0][0].pitch, notes[1][0].pitch))
    highest = _highest_on_one(staff, before.in_force, low.midi)
    if highest is None or high.midi <= highest:
        return
    fact = Fact(before.event, "slide", "WideSlide")
    fact.say("notesSaid", f"{notes[0][0].pitch.name} to {notes[1][0].pitch.name}")
    yield from fact.quads


def _highest_on_one(staff: Staff, in_force: InForce, low: int) -> int | None:
    """The highest note (semitone number) on a string that holds a low one.

    ``None`` where no string does, and where the graph does not know where strings end.
    """
    hand = staff.hand_of(in_force)
    if hand is None:
        return None
    ends: Sequence[int] = [
        each + hand.highest_stop for each in hand.strings if each <= low <= each + hand.highest_stop
    ]
    return max(ends, default=None)
