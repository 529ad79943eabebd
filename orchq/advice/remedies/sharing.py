"""The work shared out in the section: by halves, note by note, or desk by desk."""

from collections.abc import Iterator, Sequence
from functools import partial

from msgspec.structs import replace

from orchq.advice.case import Candidate, Case, remedy
from orchq.advice.edits import Edit, change_events, change_states, print_word
from orchq.derive.changes import DESK_BY_DESK, MUTE_OFF
from orchq.derive.placed import Placed
from orchq.derive.states import DIVISI, UNISON
from orchq.score import Event

_TWO = 2
_SHORT_PASSAGE = 8
"""Plucked or bowed notes up to which both changes around them are met at once."""


def _can_divide(case: Case) -> bool:
    return case.players != 1 and case.in_force.parts is None and bool(case.part.section)


@remedy("half-and-half")
def half_and_half(case: Case) -> Iterator[Candidate]:
    """Divisi from the note before the change on: one half plays with the bow, the other plucks.

    Where the way of playing soon changes back, up to the first note after that.
    """
    if case.place == 0 or not _can_divide(case):
        return
    last = case.place
    until = min(case.place + _SHORT_PASSAGE, len(case.placed) - 1)
    here = _plucks(case, case.placed[case.place])
    for place in range(case.place + 1, until + 1):
        if _plucks(case, case.placed[place]) != here:
            last = place
            break
    events = [item.event for item in case.placed[case.place - 1 : last + 1]]
    do = (
        f"divide{_from(case, events)}{case.until(events)}: one half keeps the bow and plays what "
        "is arco, the other half plays what is pizzicato"
    )
    yield from case.offer(do, *_divided(case, events), over=_and_next(case, events))


@remedy("in-alternation")
def in_alternation(case: Case) -> Iterator[Candidate]:
    """Divisi over the even notes of this passage, of which each half plays every other."""
    if not _can_divide(case):
        return
    here, length = case.in_force, case.event.duration
    slurred = {iri for slur in case.part.slurs for iri in (slur.first, slur.last)}
    events = case.stretch(
        lambda item: (
            item.in_force.techniques == here.techniques
            and item.event.duration == length
            and item.event.voice == case.event.voice
            and item.event.iri not in slurred
            and not any(n.tie_forward or n.tied_back for n in item.event.notes)
        )
    )
    events = _unbroken(events, case.event)
    if len(events) <= _TWO or length == 0:
        return
    # each half's notes are written through to its next one, so that they are judged as a line
    doubled = change_events(
        [event.iri for event in events[:-1]], lambda e: replace(e, duration=2 * e.duration)
    )
    second = change_events(
        [event.iri for event in events[1::2]], lambda e: replace(e, voice=f"{e.voice}+")
    )
    do = (
        f"divide{_from(case, events)}{case.until(events)} in alternation: "
        "each half plays every other note"
    )
    over = _and_next(case, events)
    yield from case.offer(do, *_divided(case, events), doubled, second, over=over)


@remedy("mute-by-desks")
def mute_by_desks(case: Case) -> Iterator[Candidate]:
    """The change of mutes spread through the section, where there are desks to spread it over."""
    if not case.part.section or (case.players is not None and case.players <= _TWO):
        return
    going = "off" if MUTE_OFF in case.in_force.techniques else "on"
    do = f"print desk by desk here: mutes go {going} one desk after another, and the others play on"
    yield from case.offer(do, print_word(case.event, DESK_BY_DESK))


def _plucks(case: Case, item: Placed) -> bool:
    directives = case.knowledge.directives
    return any("PluckedTechnique" in directives[iri].kinds for iri in item.in_force.techniques)


def _unbroken(events: Sequence[Event], middle: Event) -> list[Event]:
    """Those around an event that follow each other without a rest."""
    place = events.index(middle)
    first = last = place
    while first > 0 and events[first - 1].end == events[first].onset:
        first -= 1
    while last + 1 < len(events) and events[last].end == events[last + 1].onset:
        last += 1
    return list(events[first : last + 1])


def _divided(case: Case, events: Sequence[Event]) -> Iterator[Edit]:
    """Divisi in two over the events, then unison again."""
    yield print_word(events[0], DIVISI, number=_TWO)
    yield change_states([event.iri for event in events], partial(replace, divisi_parts=_TWO))
    after = case.after(events[-1])
    if after is not None and after.in_force.parts is None:
        yield print_word(after.event, UNISON, first=True)


def _and_next(case: Case, events: Sequence[Event]) -> Sequence[Event]:
    after = case.after(events[-1])
    return events if after is None else (*events, after.event)


def _from(case: Case, events: Sequence[Event]) -> str:
    """Where a rewriting begins, in words, where that is in an earlier measure."""
    if events[0].measure_index == case.event.measure_index:
        return ""
    return f" from measure {events[0].measure_number}"
