"""Notes sounding together for one player: chords, and simultaneous voices on a staff."""

from collections.abc import Iterable, Iterator, Sequence
from fractions import Fraction
from itertools import groupby

from msgspec import Struct

from orchq.derive.noteheads import is_harmonic
from orchq.derive.placed import InForce, Placed
from orchq.derive.states import DIVISI, FINAL_BARLINE, UNISON
from orchq.knowledge import Knowledge
from orchq.score import Event, Mark, Note, Part
from orchq.terms import oq

ARPEGGIATE = oq("arpeggiate").value
NON_DIVISI = oq("non-divisi").value


class Sonority(Struct, frozen=True):
    """Plain notes to be taken at once, by one player or by players who divide.

    ``event`` is where they come together; ``notes`` go from the lowest up, and ``lasting`` gives
    for each how long it sounds from there on, in quarter notes, with the notes tied to it.
    ``held`` are notes of other voices that began before and are written to last on: a player of
    several voices leaves them where the hand must. ``voices`` is true where one player has
    several here. ``broken`` is true under an arpeggio sign; ``parts`` is the number of divisi
    parts, 1 when nothing divides; ``may_divide`` when several players read the part and no
    ``non divisi`` binds them; ``all_play`` when several players have each to take all notes.
    """

    event: Event
    in_force: InForce
    notes: tuple[Note, ...]
    lasting: tuple[Fraction, ...]
    held: tuple[Note, ...]
    voices: bool
    broken: bool
    parts: int
    may_divide: bool
    all_play: bool


def sonorities(part: Part, placed: Sequence[Placed], knowledge: Knowledge) -> Iterator[Sonority]:
    """Yield what sounds together on one staff, in time order.

    Voices of a single player are joined where they begin together; a note held while another
    voice moves is kept apart from those. Where several players read the part, its voices are
    assumed to be divided among them. Harmonics are left out, and so are notes tied over from
    before. A single note is not a sonority unless another is held beside it.
    """
    several = part.section or (part.players or 1) > 1
    voices = {item.event.voice for item in placed}
    join = not several and len(voices) > 1
    bound = _NonDivisi(part.marks, placed, knowledge)
    ends = tied_ends(placed)
    for items, held_over in _meetings(placed, join=join):
        if len(items) == 1 and not held_over and len(items[0].event.notes) < 2:
            continue
        plain = [item for item in items if not is_harmonic(item, knowledge)]
        if all(note.tied_back for item in plain for note in item.event.notes):
            continue
        onset = plain[-1].event.onset
        non_divisi = bound.at(onset)
        asserted = plain[-1].event.state
        if asserted is not None and asserted.divisi_parts is not None:
            non_divisi = asserted.divisi_parts == 1
        divisible = several and not non_divisi and not plain[-1].in_force.solo
        # Two heads on one pitch: players who divide meet in unison.
        together = _merged(plain, unisons=not divisible)
        struck = {note.pitch.midi for note, _ in together}
        held = [
            note
            for note, _ in _merged(item for item in held_over if not is_harmonic(item, knowledge))
            if note.pitch.midi not in struck
        ]
        parts = 1 if non_divisi else plain[-1].in_force.parts or 1
        if not together or len(together) + len(held) < 2 or 1 < len(together) <= parts:
            continue
        yield Sonority(
            event=plain[-1].event,
            in_force=plain[-1].in_force,
            notes=tuple(note for note, _ in together),
            lasting=tuple(ends.get(note.iri, event.end) - onset for note, event in together),
            held=tuple(held),
            voices=len(items) > 1 or bool(held_over),
            broken=any(ARPEGGIATE in item.event.marks for item in plain),
            parts=parts,
            may_divide=divisible,
            all_play=several and non_divisi and not plain[-1].in_force.solo,
        )


def undivided(part: Part, placed: Sequence[Placed], knowledge: Knowledge) -> frozenset[str]:
    """The events (IRIs) at which each of several players has to take all notes.

    A ``non divisi`` holds on; an ``unis.`` says so of the notes that it stands over.
    """
    if not part.section:
        return frozenset()
    together = {
        mark.onset for mark in part.marks if not {UNISON, NON_DIVISI}.isdisjoint(mark.directives)
    }
    if not together:
        return frozenset()
    bound = (each.event.iri for each in sonorities(part, placed, knowledge) if each.all_play)
    printed = (item.event.iri for item in placed if item.event.onset in together)
    return frozenset((*bound, *printed))


def _meetings(
    placed: Sequence[Placed], *, join: bool
) -> Iterator[tuple[Sequence[Placed], Sequence[Placed]]]:
    """Yield the events that one hand starts together, and those that it still holds then."""
    if not join:
        for item in placed:
            yield (item,), ()
        return
    sounding: list[Placed] = []
    for _, measure in groupby(placed, key=lambda item: item.event.measure_index):
        inside = list(measure)
        first = inside[0].event
        sounding = [item for item in sounding if item.event.end > first.onset]
        if not sounding and all(item.event.voice == first.voice for item in inside):
            for item in inside:
                yield (item,), ()
            sounding = inside[-1:]
            continue
        for onset, group in groupby(inside, key=lambda item: item.event.onset):
            items = list(group)
            yield from (((item,), ()) for item in items if item.event.grace)
            together = [item for item in items if not item.event.grace]
            sounding = [item for item in sounding if item.event.end > onset]
            if together:
                yield together, tuple(sounding)
            sounding += together


def _merged(items: Iterable[Placed], *, unisons: bool = True) -> list[tuple[Note, Event]]:
    """Join voices from the lowest note up; a pitch that two share is one note of the hand.

    A unison within one chord is two notes, on two strings, unless there are no ``unisons``.
    """
    joined: list[tuple[Note, Event]] = []
    known: set[int] = set()
    for item in items:
        new = [note for note in item.event.notes if note.pitch.midi not in known]
        if not unisons:
            new = list({note.pitch.midi: note for note in new}.values())
        known.update(note.pitch.midi for note in new)
        joined.extend((note, item.event) for note in new)
    return sorted(joined, key=lambda pair: pair[0].pitch)


def tied_ends(placed: Sequence[Placed]) -> dict[str, Fraction]:
    """Where notes stop sounding that are tied to others, by the note's IRI."""
    ends: dict[str, Fraction] = {}
    waiting: dict[tuple[int, Fraction], list[str]] = {}
    for item in placed:
        event = item.event
        for note in event.notes:
            if not (note.tied_back or note.tie_forward):
                continue
            place = note.pitch.midi, event.onset
            chain = waiting.pop(place, []) if note.tied_back else []
            chain.append(note.iri)
            end = event.end
            ends.update(dict.fromkeys(chain, end))
            if note.tie_forward:
                waiting[note.pitch.midi, end] = chain
    return ends


class _NonDivisi:
    """Whether a printed ``non div.`` holds, asked in time order."""

    def __init__(
        self, marks: Iterable[Mark], placed: Sequence[Placed], knowledge: Knowledge
    ) -> None:
        staff = placed[0].event.staff if placed else None
        lifts = {
            iri
            for iri, directive in knowledge.directives.items()
            if NON_DIVISI in directive.cancels
        } | {DIVISI, FINAL_BARLINE}
        self._changes = [
            (mark.onset, iri == NON_DIVISI)
            for mark in sorted(marks, key=lambda mark: mark.onset)
            if mark.staff in (None, staff)
            for iri in mark.directives
            if iri == NON_DIVISI or iri in lifts
        ]
        self._changes.reverse()
        self._bound = False

    def at(self, onset: Fraction) -> bool:
        while self._changes and self._changes[-1][0] <= onset:
            self._bound = self._changes.pop()[1]
        return self._bound
