"""Chords: shared out, broken, shortened below, or thinned."""

from collections.abc import Iterator, Sequence
from fractions import Fraction
from functools import partial
from itertools import combinations, pairwise

from msgspec.structs import replace

from orchq.advice.case import Candidate, Case, remedy
from orchq.advice.edits import (
    add_event,
    change_notes,
    change_signs,
    change_states,
    print_word,
    set_notes,
)
from orchq.derive.sonorities import ARPEGGIATE
from orchq.derive.states import DIVISI, UNISON
from orchq.score import Event, Note

_MOST_PARTS = 4
_MOST_MEASURES = 4
"""In so many a run of chords is divided as a whole."""
_CHORD = 3
"""The fewest notes that are broken: two can be bowed together, or not at all."""
_SHORTEST_BROKEN = Fraction(1, 2)
"""Quarter notes of the shortest chord that leave time to break it."""


@remedy("divide")
def divide(case: Case) -> Iterator[Candidate]:
    """Divisi for this chord, or for the chords around it, into as few parts as suffice."""
    most = min(_MOST_PARTS, len(case.event.notes), case.players or _MOST_PARTS)
    if case.in_force.parts is not None:
        return
    chords = case.stretch(lambda item: len(item.event.notes) > 1)
    for parts in range(2, most + 1):
        shares = _shares(case, parts)
        for events in _stretches(case.event, chords):
            do = f"divide into {parts} parts{case.until(events)}: {shares}, then unison again"
            after = case.after(events[-1])
            edits = [
                print_word(events[0], DIVISI, number=parts),
                change_states(
                    [event.iri for event in events], partial(replace, divisi_parts=parts)
                ),
            ]
            if after is not None and after.in_force.parts is None:
                edits.append(print_word(after.event, UNISON, first=True))
            over = (*events, after.event) if after is not None else events
            yield from case.offer(do, *edits, over=over)


def _stretches(event: Event, chords: list[Event]) -> list[list[Event]]:
    """A run of chords is divided as a whole, unless it is long; then this one alone first."""
    if len(chords) == 1:
        return [chords]
    short = chords[-1].measure_index - chords[0].measure_index < _MOST_MEASURES
    return [chords, [event]] if short else [[event], chords]


def _shares(case: Case, parts: int) -> str:
    """Who takes which notes, from the top: neighbouring notes, as the hand takes them best."""
    notes = _upwards(case.event.notes)
    solver = case.solver

    def groups_of(cuts: Sequence[int]) -> list[tuple[Note, ...]]:
        return [notes[low:high] for low, high in pairwise((0, *cuts, len(notes)))]

    def effort(cuts: Sequence[int]) -> tuple[float, int]:
        groups = groups_of(cuts)
        stops = [[note.pitch.midi for note in group] for group in groups if len(group) > 1]
        efforts = [solver.solve(stop).struck.effort for stop in stops] if solver else []
        return max(efforts, default=0.0), max(len(group) for group in groups)

    groups = groups_of(min(combinations(range(1, len(notes)), parts - 1), key=effort))
    spelled = ["-".join(note.pitch.name for note in group) for group in reversed(groups)]
    names = ("the first", "the second", "the third", "the fourth")
    return ", ".join(f"{name} {taken}" for name, taken in zip(names, spelled, strict=False))


@remedy("break-chord")
def break_chord(case: Case) -> Iterator[Candidate]:
    """An arpeggio sign before the chord."""
    event = case.event
    if len(event.notes) >= _CHORD and event.duration >= _SHORTEST_BROKEN:
        do = "print an arpeggio sign: broken, the chord need not be held by one grip"
        yield from case.offer(do, change_signs([case.event.iri], on=[ARPEGGIATE]))


@remedy("hold-upper-notes")
def hold_upper_notes(case: Case) -> Iterator[Candidate]:
    """The lower notes short in a voice of their own, the two upper ones held."""
    event = case.event
    notes = _upwards(event.notes)
    held = case.solver.model.most_sustained if case.solver else None
    if case.tied or held is None or len(notes) <= held:
        return
    lower, upper = notes[:-held], notes[-held:]
    short = replace(
        event,
        iri=f"{event.iri}.short",
        notes=lower,
        duration=min(Fraction(1), event.duration / 2),
        voice=f"{event.voice}+",
    )
    do = (
        f"write {_spelled(lower)} short and hold {_spelled(upper)}: "
        f"the bow stays on {held} strings only"
    )
    yield from case.offer(do, set_notes(event.iri, upper), add_event(short))


@remedy("leave-note-out")
def leave_note_out(case: Case) -> Iterator[Candidate]:
    """One note fewer: an inner one first, then the lowest, then the highest.

    Where stops follow each other, at last the upper line alone.
    """
    notes = _upwards(case.event.notes)
    if case.tied or len(notes) == 1:
        return
    for gone in (*notes[1:-1], notes[0], notes[-1]):
        rest = tuple(note for note in case.event.notes if note.iri != gone.iri)
        what = "an inner note" if gone in notes[1:-1] else "a note"
        do = f"leave out {gone.pitch}, {what} of the chord: {_spelled(rest)} lies in the hand"
        if any(note.pitch.midi == gone.pitch.midi for note in rest):
            do = f"write {gone.pitch} once: one string has it"
        yield from case.offer(do, set_notes(case.event.iri, rest))
    chords = case.stretch(lambda item: len(item.event.notes) > 1)
    if len(chords) > 1:
        do = (
            f"write the highest notes alone{case.until(chords)}: one line is playable at this speed"
        )
        edits = [change_notes(chord.iri, lambda notes: _upwards(notes)[-1:]) for chord in chords]
        yield from case.offer(do, *edits, over=chords)


def _upwards(notes: Sequence[Note]) -> tuple[Note, ...]:
    return tuple(sorted(notes, key=lambda note: note.pitch))


def _spelled(notes: Sequence[Note]) -> str:
    return "-".join(note.pitch.name for note in _upwards(notes))
