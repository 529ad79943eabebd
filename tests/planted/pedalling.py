"""Planters for the rules about pedals and open strings; importing this module registers them."""

from fractions import Fraction
from random import Random

from msgspec.structs import replace

from orchq.notation import Pitch
from orchq.score import Note

from .passages import Passage
from .planting import _measure, _somewhere, plants
from .timing import _fill

HARP = ("harp",)


def _spell(passage: Passage, place: int, *names: str) -> None:
    """Give the event at a place notes as they are spelled."""
    event = passage.events[place]
    notes = tuple(Note(f"{event.iri}.n{n}", Pitch.parse(name)) for n, name in enumerate(names, 1))
    passage.events[place] = replace(event, notes=notes)


@plants("pedals-contradict", HARP)
def _one_pedal_for_two(passage: Passage, rng: Random) -> int:
    """Two forms of one letter, one of them natural as in the rest of the passage."""
    place = rng.choice(passage.window()[1:])
    letter = rng.choice("CDEFGAB")
    _spell(passage, place, f"{letter}4", f"{letter}{rng.choice('#b')}5")
    return _measure(passage, place)


@plants("no-pedal-gives-note", HARP)
def _double_sign(passage: Passage, rng: Random) -> int:
    place = _somewhere(passage, rng)
    _spell(passage, place, rng.choice(["F##4", "C##5", "Bbb3", "Ebb4"]))
    return _measure(passage, place)


@plants("pedal-change-too-quick", HARP)
def _crowded_foot(passage: Passage, rng: Random) -> int:
    """Several pedals of one foot between two neighbouring short chords, back at leisure."""
    letters = rng.choice(["DCB", "EFG", "FGA", "EFGA"])
    measure = passage.events[passage.window()[0]].measure_index
    first, second, *_ = _fill(passage, measure, Fraction(1, 4), [[60]] * 2)
    _spell(passage, first, *(f"{letter}4" for letter in letters))
    _spell(passage, second, *(f"{letter}b4" for letter in letters))
    passage.events = [e for e in passage.events if e.measure_index != measure + 1]
    return measure


@plants("chord-beyond-two-hands", HARP)
def _many_fingers(passage: Passage, rng: Random) -> int:
    place = _somewhere(passage, rng)
    low = rng.choice(["C3", "E3", "G3"])
    naturals = [
        n for n in range(48, 90) if "#" not in (p := Pitch.from_midi(n).name) and "b" not in p
    ]
    start = naturals.index(Pitch.parse(low).midi)
    chord = naturals[start : start + rng.randint(9, 12)]
    _spell(passage, place, *(Pitch.from_midi(midi).name for midi in chord))
    return _measure(passage, place)
