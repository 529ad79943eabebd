"""The note elsewhere: in another octave, or in another part."""

from collections.abc import Iterator, Sequence

from msgspec.structs import replace

from orchq.advice.case import Candidate, Case, remedy
from orchq.advice.edits import Edit, add_event, set_notes, take_event, take_spans
from orchq.score import Event, Note, Part

_SHIFTS = {-1: "an octave lower", 1: "an octave higher", -2: "two octaves lower"}


@remedy("other-octave")
def other_octave(case: Case) -> Iterator[Candidate]:
    """The notes that the finding names an octave away; of a chord one note after the other.

    The bass of a chord moves last. What is tied to a note moves along.
    """
    if any(note.role for note in case.event.notes):
        return
    for octaves, words in _SHIFTS.items():
        for note in _bass_last(case.concerned or case.event.notes):
            chain = case.tied_to(note)
            events = [event for event, _ in chain]
            moved = note.pitch.octaves_up(octaves)
            do = f"write {moved} instead of {note.pitch}: the same note {words}"
            yield from case.offer(do, _shifted([each for _, each in chain], octaves), over=events)


def _bass_last(notes: Sequence[Note]) -> list[Note]:
    """Inner notes, then the highest, then the lowest."""
    upwards = sorted(notes, key=lambda note: note.pitch)
    return [*upwards[1:-1], *upwards[:0:-1][:1], *upwards[:1]]


@remedy("octave-meant")
def octave_meant(case: Case) -> Iterator[Candidate]:
    """All that stands under a doubtful clef an octave lower."""
    clef = case.placed[case.place].doubtful_clef
    if clef is None:
        return
    events = case.onwards(lambda item: item.doubtful_clef == clef)
    do = f"write the notes{case.until(events)} an octave lower, if that is how they are to sound"
    notes = [note for event in events for note in event.notes]
    yield from case.offer(do, _shifted(notes, -1), over=events)


def _shifted(notes: Sequence[Note], octaves: int) -> Edit:
    moved = {
        note.iri: replace(note, pitch=note.pitch.octaves_up(octaves), string=None) for note in notes
    }

    def shift(event: Event) -> Event:
        return replace(event, notes=tuple(moved.get(note.iri, note) for note in event.notes))

    return lambda part: replace(part, events=tuple(shift(event) for event in part.events))


@remedy("other-part")
def other_part(case: Case) -> Iterator[Candidate]:
    """A neighbouring part that rests meanwhile and has the note takes it over."""
    plucked = any(
        "PluckedTechnique" in case.knowledge.directives[iri].kinds
        for iri in case.in_force.techniques
    )
    if plucked or case.tied or any(note.role for note in case.event.notes):
        return
    concerned = case.concerned or case.event.notes
    groups = (
        [concerned] if len(concerned) == len(case.event.notes) == 1 else [[n] for n in concerned]
    )
    for part in sorted(case.score.parts, key=lambda each: abs(each.index - case.part.index)):
        if part.iri == case.part.iri or not _is_free(case, part):
            continue
        for group in groups:
            if _lies_well(case, group, part):
                yield _given(case, group, part)


def _is_free(case: Case, part: Part) -> bool:
    """Whether the graph knows the instrument, and the part rests as long as the event lasts."""
    event = case.event
    return part.instrument in case.knowledge.instruments and not any(
        other.onset < event.end and event.onset < other.end
        for other in part.events
        if not other.cue
    )


def _lies_well(case: Case, group: Sequence[Note], part: Part) -> bool:
    """Whether another part has the notes, and not in a high position."""
    opened = [
        string.pitch.midi
        for string in case.knowledge.instruments[part.instrument or ""].standard.strings
    ]
    highest = max(opened) + case.knowledge.judged("semitones-to-take-over")
    return all(min(opened) <= note.pitch.midi <= highest for note in group)


def _given(case: Case, group: Sequence[Note], part: Part) -> Candidate:
    event = case.event
    gone = {note.iri for note in group}
    rest = tuple(note for note in event.notes if note.iri not in gone)
    spans = [s.iri for s in case.part.slurs if event.iri in (s.first, s.last)]
    taken = replace(
        event,
        iri=f"{event.iri}.given",
        notes=tuple(Note(f"{note.iri}.given", note.pitch) for note in group),
        voice="1",
        staff=1,
        marks=frozenset(),
        state=None,
    )
    own = (take_spans(spans), take_event(event.iri)) if not rest else ()
    name = part.name or f"part {part.index + 1}"
    pitches = " and ".join(note.pitch.name for note in group)
    return Candidate(
        do=f"give {pitches} to {name}: that part has the {_noun(group)} and rests here",
        edits=(
            *((case.part.iri, edit) for edit in own),
            *([(case.part.iri, set_notes(event.iri, rest))] if rest else []),
            (part.iri, add_event(taken)),
        ),
        first=event,
        last=event,
    )


def _noun(group: Sequence[Note]) -> str:
    return "note" if len(group) == 1 else "notes"
