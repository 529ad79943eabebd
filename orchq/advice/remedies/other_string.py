"""Another string."""

from collections.abc import Iterator
from functools import partial

from msgspec.structs import replace

from orchq.advice.case import Candidate, Case, remedy
from orchq.advice.edits import change_notes, change_states, change_word
from orchq.score import Note


@remedy("other-string")
def other_string(case: Case) -> Iterator[Candidate]:
    """The highest string that has all the notes for which one is called, or one lower."""
    if case.in_force.string_call is not None:
        yield from _called(case, case.in_force.string_call)
    for note in case.event.notes:
        if note.string is not None:
            yield from _numbered(case, note)


def _called(case: Case, call: str) -> Iterator[Candidate]:
    events = case.stretch(lambda item: item.in_force.string_call == call)
    mark = case.word(call)
    if mark is None and case.event.state is None:
        return
    lowest = min((note.pitch for event in events for note in event.notes), default=None)
    for string in case.in_force.strings:
        new = _call_for(case, string.name)
        if lowest is None or new in (None, call) or string.pitch.midi > lowest.midi:
            continue
        assert new is not None
        do = (
            f"ask for {case.label(new).removeprefix('on ')} instead{case.until(events)}: "
            f"it has every note, down to {lowest}"
        )
        iris = [event.iri for event in events]
        edits = [change_states(iris, partial(replace, string_call=new))]
        if mark is not None:
            edits.append(change_word(mark.iri, call, new))
        yield from case.offer(do, *edits, over=events)


def _call_for(case: Case, name: str) -> str | None:
    calls = (d.iri for d in case.knowledge.directives.values() if d.string_name == name)
    return next(calls, None)


def _numbered(case: Case, note: Note) -> Iterator[Candidate]:
    for string in case.in_force.strings:
        if string.pitch.midi <= note.pitch.midi and string.number != note.string:
            number = string.number

            def renumber(notes: tuple[Note, ...], number: int = number) -> tuple[Note, ...]:
                return tuple(
                    replace(each, string=number) if each.iri == note.iri else each for each in notes
                )

            do = f"print string {number} instead of {note.string}: it has {note.pitch}"
            yield from case.offer(do, change_notes(case.event.iri, renumber))
