"""Passages cut out of parts, with what is in force carried in."""

from bisect import bisect_left
from collections.abc import Iterator, Sequence
from fractions import Fraction
from itertools import islice

from msgspec.structs import replace

from orchq.derive.placed import Placed
from orchq.derive.states import DIVISI, FINAL_BARLINE, SOLO
from orchq.derive.staves import Staff
from orchq.knowledge import Knowledge
from orchq.score import Event, Mark, Note, Part, Score

MARGIN = Fraction(8)
"""Quarter notes kept on either side of what a rewriting can affect; at least one event."""


def window(part: Part, first: Event, last: Event) -> tuple[Fraction, Fraction]:
    """The stretch of a part, in quarter notes, that is needed to judge these events."""
    place = bisect_left(part.events, first.onset, key=_onset)
    before = next((e.onset for e in reversed(part.events[:place]) if not e.cue), first.onset)
    place = bisect_left(part.events, last.end, key=_onset)
    after = next((e.end for e in islice(part.events, place, None) if not e.cue), last.end)
    return min(first.onset - MARGIN, before), max(last.end + MARGIN, after)


def _onset(event: Event) -> Fraction:
    return event.onset


def cut(part: Part, staves: Sequence[Staff], start: Fraction, end: Fraction) -> Part:
    """Cut out what begins from ``start`` up to ``end``; times stay what they are."""
    low, high = (bisect_left(part.events, onset, key=_onset) for onset in (start, end))
    events = part.events[low:high]
    kept = {event.iri for event in events}
    entries = [(staff, item) for staff in staves if (item := _before(staff.placed, start))]
    since = min((item.event.onset for _, item in entries), default=None)
    carried = [mark for staff, item in entries for mark in _carried(staff, item)]
    marks = [m for m in part.marks if (since is None or m.onset > since) and m.onset < end]
    return replace(
        part,
        measures=(),
        events=events,
        marks=(*carried, *marks),
        slurs=tuple(s for s in part.slurs if s.first in kept and s.last in kept),
        hairpins=tuple(pin for pin in part.hairpins if start <= pin.onset < end),
    )


def _before(placed: Sequence[Placed], start: Fraction) -> Placed | None:
    place = bisect_left(placed, start, key=lambda item: item.event.onset)
    return placed[place - 1] if place else None


def _carried(staff: Staff, item: Placed) -> Iterator[Mark]:
    """What holds after an event on its staff, printed anew; clefs and tunings as they were."""
    event, in_force, number = item.event, item.in_force, staff.number
    words = sorted(item.standing)
    words += [iri for iri in (in_force.dynamic, in_force.string_call) if iri is not None]
    words += [DIVISI] if in_force.parts else []
    words += [SOLO] if in_force.solo else []
    earlier = [m for m in staff.part.marks if m.onset <= event.onset and m.staff in (None, number)]
    for mark in earlier:
        if mark.retuned:
            yield replace(mark, iri=f"{mark.iri}.carried{number}", staff=number, directives=())
    clefs = [
        (mark, iri) for mark in earlier for iri in mark.directives if _is_clef(iri, staff.knowledge)
    ]
    for mark, iri in clefs[-1:]:
        yield replace(
            mark, iri=f"{mark.iri}.carried{number}", staff=number, directives=(iri,), signature=None
        )
    yield Mark(
        iri=f"{event.iri}.carried{number}",
        measure_index=event.measure_index,
        measure_number=event.measure_number,
        offset=event.offset,
        onset=event.onset,
        directives=tuple(words),
        staff=number,
        number=in_force.parts,
    )


def _is_clef(iri: str, knowledge: Knowledge) -> bool:
    return iri in knowledge.directives and "ClefSign" in knowledge.directives[iri].kinds


def tempo_part(score: Score, knowledge: Knowledge) -> Part:
    """A part that nobody plays, with every mark of the score that bears on tempo."""
    marks = [
        replace(mark, iri=f"{mark.iri}.tempo{part.index}", retuned=(), signature=None)
        for part in score.parts
        for mark in part.marks
        if mark.tempo is not None
        or any(iri == FINAL_BARLINE or _is_tempo(iri, knowledge) for iri in mark.directives)
    ]
    return Part(f"{score.iri}.tempo", "tempo", 0, "tempo", None, marks=tuple(marks))


def _is_tempo(iri: str, knowledge: Knowledge) -> bool:
    return iri in knowledge.directives and "TempoWord" in knowledge.directives[iri].kinds


def renamed(part: Part, prefix: str, index: int) -> Part:
    """The same part under other IRIs, each with a prefix, so that it can be laid beside itself."""

    def note(each: Note) -> Note:
        return replace(each, iri=prefix + each.iri)

    def event(each: Event) -> Event:
        state = each.state and replace(each.state, iri=prefix + each.state.iri)
        notes = tuple(note(one) for one in each.notes)
        return replace(each, iri=prefix + each.iri, notes=notes, state=state)

    return replace(
        part,
        iri=prefix + part.iri,
        index=index,
        events=tuple(event(each) for each in part.events),
        marks=tuple(replace(each, iri=prefix + each.iri) for each in part.marks),
        slurs=tuple(
            replace(each, iri=prefix + each.iri, first=prefix + each.first, last=prefix + each.last)
            for each in part.slurs
        ),
        hairpins=tuple(replace(each, iri=prefix + each.iri) for each in part.hairpins),
    )
