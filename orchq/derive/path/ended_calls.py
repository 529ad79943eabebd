"""Where a call for a string is over though its end is not printed."""

from collections.abc import Iterator, Sequence

from orchq.derive.placed import Placed
from orchq.derive.states import called_string
from orchq.derive.staves import Staff
from orchq.derive.strings import called_strings
from orchq.score import Mark


def ended_calls(staff: Staff) -> frozenset[str]:
    """Return the IRIs of events at which the call in force for a string no longer binds the hand.

    A word that nobody cancels is soon forgotten (``measures-of-a-call``). After that the first note
    so high up the string that a call for it would be reported ends the call, since players go to a
    higher string there. Where the end is printed, the call holds up to it.
    """
    return frozenset(_ended(staff))


def _ended(staff: Staff) -> Iterator[str]:
    recent = called_strings(staff)
    marks = sorted(
        (mark for mark in staff.part.marks if mark.staff in (None, staff.number)),
        key=lambda mark: mark.onset,
    )
    over: str | None = None
    for item in staff.placed:
        call = item.in_force.string_call
        if call is None or not item.event.notes or recent(item) is not None:
            over = None
        elif over == call or (_is_high(staff, item) and not _end_is_printed(staff, item, marks)):
            over = call
            yield item.event.iri


def _is_high(staff: Staff, item: Placed) -> bool:
    """Whether the lowest note lies so high up the called string that rules would report it."""
    in_force = item.in_force
    call = staff.knowledge.directives[in_force.string_call or ""]
    string = called_string(call, in_force.strings, staff.around.instrument)
    most = staff.around.first_reported("StringCallHeight", "highestSemitone", in_force)
    lowest = min(note.pitch.midi for note in item.event.notes)
    return string is not None and most is not None and lowest - string.pitch.midi >= most


def _end_is_printed(staff: Staff, item: Placed, marks: Sequence[Mark]) -> bool:
    """Whether a word that cancels the call comes before another call."""
    for mark in marks:
        for iri in mark.directives if mark.onset > item.event.onset else ():
            directive = staff.knowledge.directives.get(iri)
            if directive is not None and "StringCall" in directive.kinds:
                return False
            if directive is not None and item.in_force.string_call in directive.cancels:
                return True
    return False
