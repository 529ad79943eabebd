"""Trills and plucks of the left hand for which no finger is free."""

from collections.abc import Iterator, Sequence
from itertools import groupby
from typing import TYPE_CHECKING

from pyoxigraph import Quad

from orchq.derive.circumstances import Fact
from orchq.derive.hand import HandModel
from orchq.derive.noteheads import is_harmonic
from orchq.derive.placed import Placed
from orchq.derive.staves import Staff
from orchq.lazily import lazily
from orchq.score import Note
from orchq.terms import oq

if TYPE_CHECKING:
    from orchq.derive import path
else:
    (path,) = lazily("orchq.derive", "path")

TRILL, PLUCK = oq("trill").value, oq("left-hand-pizzicato").value
_MOST_VOICES = 8
"""So many events back are looked through for notes that still sound."""


def busy_hand_quads(staff: Staff) -> Iterator[Quad]:
    """Yield the triples of trills and plucks that the left hand has no finger for.

    Only single players are asked: a section divides what one hand does not hold.
    """
    if not any(TRILL in i.event.marks or PLUCK in i.in_force.techniques for i in staff.placed):
        return
    items = [
        item
        for item in staff.placed
        if item.event.notes
        and not item.event.grace
        and (item.in_force.parts or 1) == 1
        and not staff.around.has_several_players(item.in_force)
        and not is_harmonic(item, staff.knowledge)
    ]
    first = 0
    for _, group in groupby(items, key=lambda item: item.event.onset):
        together = list(group)
        trills = any(TRILL in item.event.marks for item in together)
        plucks = any(PLUCK in item.in_force.techniques for item in together)
        if trills or plucks:
            model = staff.hand_of(together[0].in_force)
            if model is not None and trills:
                yield from _trill(together, model)
            if model is not None and plucks:
                before = items[max(0, first - _MOST_VOICES) : first]
                yield from _pluck(together, _sounding_on(before, together), model)
        first += len(together)


def _trill(together: Sequence[Placed], model: HandModel) -> Iterator[Quad]:
    """A sign over a stop trills its top note; voices with signs of their own trill each theirs."""
    trilled = [_top(item) for item in together if TRILL in item.event.marks]
    notes = _from_below([note for item in together for note in item.event.notes])
    if len(notes) != 2:  # chords are broken, and a single note has its choice of fingers
        return
    at = tuple(place for place, note in enumerate(notes) if note in trilled)
    if path.can_trill(model, _demand(notes), at):
        return
    fact = Fact(together[0].event, "busy-trill", "TrillWithoutFinger")
    fact.say("notesSaid", _names(notes))
    fact.say("trillsSaid", " and ".join(note.pitch.name for note in notes if note in trilled))
    yield from fact.quads


def _pluck(together: Sequence[Placed], held: Sequence[Note], model: HandModel) -> Iterator[Quad]:
    plucking = [item for item in together if PLUCK in item.in_force.techniques]
    bowing = [item for item in together if PLUCK not in item.in_force.techniques]
    plucked = _from_below([note for item in plucking for note in item.event.notes])
    bowed = _from_below([*held, *(note for item in bowing for note in item.event.notes)])
    if len(plucked) + len(bowed) == 1:
        return
    if path.can_pluck(model, _demand(plucked), _demand(bowed) if bowed else None):
        return
    fact = Fact(plucking[0].event, "busy-pluck", "PluckWithoutFinger")
    fact.say("notesSaid", _names(plucked))
    fact.say("heldSaid", f", while {_names(bowed)} is held" if bowed else "")
    yield from fact.quads


def _sounding_on(before: Sequence[Placed], together: Sequence[Placed]) -> list[Note]:
    """Notes of other voices that go on sounding under the bow."""
    voices = {item.event.voice for item in together}
    return [
        note
        for item in before
        if item.event.voice not in voices
        and item.event.end > together[0].event.onset
        and PLUCK not in item.in_force.techniques
        for note in item.event.notes
    ]


def _top(item: Placed) -> Note:
    return max(item.event.notes, key=lambda note: note.pitch.midi)


def _from_below(notes: Sequence[Note]) -> list[Note]:
    return sorted(notes, key=lambda note: note.pitch.midi)


def _demand(notes: Sequence[Note]) -> "path.Demand":
    return tuple(note.pitch.midi for note in notes), (path.Printed(),) * len(notes)


def _names(notes: Sequence[Note]) -> str:
    return "-".join(note.pitch.name for note in notes)
