"""Simultaneity as one player meets it: chords, and voices that sound together on a staff."""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from fractions import Fraction

from orchq.derive.notes import is_harmonic
from orchq.derive.states import InForce, Placed
from orchq.knowledge import Knowledge
from orchq.score import Event, Note, Part
from orchq.terms import oq

ARPEGGIATE = oq("arpeggiate").value


@dataclass(frozen=True, slots=True)
class Sonority:
    """Plain notes that one player has to take at once.

    ``event`` is where they come together; ``notes`` go from the lowest up; ``held`` is how long
    all of them sound, in quarter notes; ``broken`` is true under an arpeggio sign;
    ``may_divide`` when the part has several players and prints nothing about dividing.
    """

    event: Event
    in_force: InForce
    notes: tuple[Note, ...]
    held: Fraction
    broken: bool
    may_divide: bool


def sonorities(part: Part, placed: Sequence[Placed], knowledge: Knowledge) -> Iterator[Sonority]:
    """Yield what sounds together on one staff, in time order.

    Voices of a single player are joined: what is held while another voice moves is in the hand
    too. In a section, voices on one staff are taken to be shared out among the players.
    """
    voices = {item.event.voice for item in placed}
    join = not part.section and len(voices) > 1
    sounding: list[Placed] = []
    lengths = _tied_lengths(placed)
    for item in placed:
        event = item.event
        notes = list(plain_notes(item, knowledge))
        if not notes:
            continue
        held_over: list[Note] = []
        if join and not event.grace:
            sounding = [other for other in sounding if other.event.end > event.onset]
            # Voices that start together meet once: at the last of them in reading order.
            for other in sounding:
                held_over.extend(plain_notes(other, knowledge))
            sounding.append(item)
        together = _merged(notes, held_over)
        if len(together) < 2 or all(note.tied_back for note in together):
            continue
        if item.in_force.parts is not None and len(together) <= item.in_force.parts:
            continue
        yield Sonority(
            event=event,
            in_force=item.in_force,
            notes=tuple(together),
            held=min(lengths[note.iri] for note in notes),
            broken=ARPEGGIATE in event.marks,
            may_divide=part.section and item.in_force.parts is None and not item.in_force.solo,
        )


def plain_notes(item: Placed, knowledge: Knowledge) -> Iterator[Note]:
    """The notes of an event that are no harmonics."""
    if not is_harmonic(item, knowledge):
        yield from item.event.notes


def _merged(notes: Sequence[Note], held_over: Sequence[Note]) -> list[Note]:
    """Join voices; a pitch that two voices share is one note of the hand."""
    own = {note.pitch.midi for note in notes}
    joined = [*notes, *(note for note in held_over if note.pitch.midi not in own)]
    return sorted(joined, key=lambda note: note.pitch)


def _tied_lengths(placed: Sequence[Placed]) -> dict[str, Fraction]:
    """How long each note sounds, notes tied to it included, by the note's IRI."""
    lengths: dict[str, Fraction] = {}
    waiting: dict[tuple[int, Fraction], str] = {}
    for item in placed:
        event = item.event
        for note in event.notes:
            first = waiting.pop((note.pitch.midi, event.onset), None) if note.tied_back else None
            lengths[note.iri] = event.duration
            if first is not None:
                lengths[first] += event.duration
            if note.tie_forward:
                waiting[note.pitch.midi, event.end] = first or note.iri
    return lengths
