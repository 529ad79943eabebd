"""Planters for the rules about clock and bow; importing this module registers them."""

from collections.abc import Sequence
from fractions import Fraction
from random import Random

from msgspec.structs import replace

from orchq.notation import Pitch
from orchq.score import Event, Mark, Note, Slur
from orchq.terms import oq

from .passages import AFTER, WINDOW, Passage
from .planting import UPPER, _pluck, plants

SEMIQUAVER, DEMISEMIQUAVER = Fraction(1, 4), Fraction(1, 8)


def _fill(
    passage: Passage, measure: int, length: Fraction | int, chords: Sequence[Sequence[int]]
) -> list[int]:
    """Give a measure even notes or chords from its start; returns their places."""
    start = Fraction(4 * measure)
    kept = [event for event in passage.events if event.measure_index != measure]
    made = []
    for number, chord in enumerate(chords):
        iri = f"{passage.iri}.f{measure}.{number}"
        offset = number * Fraction(length)
        notes = tuple(Note(f"{iri}.n{n}", Pitch.from_midi(midi)) for n, midi in enumerate(chord, 1))
        place = (measure, str(measure + 1), offset, start + offset)
        made.append(Event(iri, *place, duration=Fraction(length), notes=notes))
    passage.events = sorted([*kept, *made], key=lambda event: event.onset)
    passage.clear_slurs()
    return [n for n, event in enumerate(passage.events) if event.measure_index == measure]


def _scale(passage: Passage, count: int, rng: Random) -> list[list[int]]:
    """Steps up and down above the lowest string."""
    low = passage.opens[-1] + rng.randint(3, 6)
    steps = [0, 2, 4, 5, 7, 5, 4, 2]
    return [[low + steps[n % len(steps)]] for n in range(count)]


@plants("pluck-bow-change-too-quick")
def _quick_arco(passage: Passage, rng: Random) -> int:
    _fill(passage, WINDOW, SEMIQUAVER, _scale(passage, 4, rng))
    passage.word(WINDOW, "pizzicato")
    onset = 4 * WINDOW + SEMIQUAVER
    arco = (oq("arco").value,)
    passage.marks.append(
        Mark(f"{passage.iri}.arco", WINDOW, str(WINDOW + 1), SEMIQUAVER, onset, arco)
    )
    return WINDOW


@plants("mute-change-too-quick")
def _quick_mute(passage: Passage, rng: Random) -> int:
    measure = WINDOW + rng.randint(0, 1)
    _fill(passage, WINDOW, 1, _scale(passage, 4, rng))
    if measure == WINDOW:
        passage.word(2, "con-sordino")
        passage.word(WINDOW + 1, "senza-sordino")
    else:
        passage.word(WINDOW + 1, "con-sordino")
        passage.word(AFTER, "senza-sordino")
    return WINDOW + 1


@plants("retuning-too-quick")
def _quick_tuning(passage: Passage, rng: Random) -> int:
    lowest = passage.instrument.standard.lowest
    retuned = Pitch.from_midi(lowest.pitch.midi - rng.randint(1, 2))
    passage.word(WINDOW)
    passage.marks[-1] = replace(passage.marks[-1], retuned=((lowest.number, retuned),))
    return WINDOW


@plants("bow-direction-repeated")
def _same_direction(passage: Passage, rng: Random) -> int:
    places = _fill(passage, WINDOW, SEMIQUAVER, _scale(passage, 4, rng))
    sign = rng.choice(["down-bow", "up-bow"])
    passage.sign(places[1], sign)
    passage.sign(places[2], sign)
    return WINDOW


@plants("position-leap-too-quick", UPPER)
def _leap(passage: Passage, rng: Random) -> int:
    low, high = passage.opens[-1] + rng.randint(1, 2), passage.opens[0] + 17
    _fill(passage, WINDOW, DEMISEMIQUAVER, [[low], [high]])
    return WINDOW


@plants("slur-longer-than-bow")
@plants("slur-longer-than-bow", section=True)
def _long_slur(passage: Passage, rng: Random) -> int:
    (first,) = _fill(passage, WINDOW, 4, _scale(passage, 1, rng))
    (last,) = _fill(passage, WINDOW + 1, 4, _scale(passage, 1, rng))
    passage.word(WINDOW, rng.choice(["f", "ff"]))
    passage.word(AFTER, "mf")
    ends = passage.events[first].iri, passage.events[last].iri
    passage.slurs.append(Slur(f"{passage.iri}.long", *ends))
    return WINDOW


def _hold(passage: Passage, quarters: int, rng: Random) -> int:
    """Let one note of the window last so long, and nothing come after it."""
    (place,) = _fill(passage, WINDOW, quarters, _scale(passage, 1, rng))
    passage.events = [e for e in passage.events if e.measure_index <= WINDOW]
    return place


@plants("held-note-longer-than-bow")
def _long_note(passage: Passage, rng: Random) -> int:
    _hold(passage, 24, rng)
    return WINDOW


@plants("stroke-too-fast")
def _fast_stroke(passage: Passage, rng: Random) -> int:
    stroke, dynamic, length = rng.choice(
        [("martele", "f", SEMIQUAVER), ("spiccato", "p", DEMISEMIQUAVER)]
    )
    _fill(passage, WINDOW, length, _scale(passage, 8, rng))
    passage.word(WINDOW, stroke, dynamic)
    passage.word(WINDOW + 1, "detache", "mf")
    return WINDOW


@plants("stroke-too-slow")
def _slow_stroke(passage: Passage, rng: Random) -> int:
    _fill(passage, WINDOW, Fraction(1, 2), _scale(passage, 4, rng))
    passage.word(WINDOW, "sautille")
    passage.word(WINDOW + 1, "detache")
    return WINDOW


@plants("pizzicato-too-fast")
def _fast_pizzicato(passage: Passage, rng: Random) -> int:
    _fill(passage, WINDOW, DEMISEMIQUAVER, _scale(passage, rng.randint(4, 12), rng))
    _pluck(passage)
    return WINDOW


@plants("too-many-notes-in-a-throw")
def _long_throw(passage: Passage, rng: Random) -> int:
    places = _fill(passage, WINDOW, DEMISEMIQUAVER, _scale(passage, rng.randint(7, 12), rng))
    passage.word(WINDOW, "ricochet")
    passage.word(WINDOW + 1, "detache")
    ends = passage.events[places[0]].iri, passage.events[places[-1]].iri
    passage.slurs.append(Slur(f"{passage.iri}.throw", *ends))
    return WINDOW


@plants("fingered-tremolo-too-wide")
def _wide_tremolo(passage: Passage, rng: Random) -> int:
    low = passage.opens[-1] + rng.randint(1, 3)
    for place in _fill(passage, WINDOW, 2, [[low], [low + rng.randint(6, 9)]]):
        passage.sign(place, "fingered-tremolo")
    passage.events = [e for e in passage.events if e.measure_index != WINDOW + 1]
    name = passage.instrument.standard.lowest.name.lower()
    passage.word(WINDOW, f"on-{name}-string")
    return WINDOW


@plants("tremolo-without-rest")
def _endless_tremolo(passage: Passage, rng: Random) -> int:
    passage.sign(_hold(passage, rng.randint(81, 120), rng), "tremolo-unmeasured")
    return WINDOW


@plants("double-stops-in-quick-succession", ("violin", "viola"))
def _quick_stops(passage: Passage, rng: Random) -> int:
    third = passage.opens[-2]
    sixths = [[third + low, third + low + width] for low, width in ((5, 9), (7, 8), (9, 8))]
    _fill(passage, WINDOW, DEMISEMIQUAVER, [sixths[n % 3] for n in range(rng.randint(4, 8))])
    return WINDOW


@plants("strings-apart-by-turns", UPPER)
def _outer_strings(passage: Passage, rng: Random) -> int:
    low, high = passage.opens[-1] + rng.randint(1, 3), passage.opens[0] + rng.randint(1, 3)
    _fill(passage, WINDOW, DEMISEMIQUAVER, [[low], [high]] * rng.randint(3, 4))
    return WINDOW


@plants("bow-sign-in-slur")
def _sign_in_slur(passage: Passage, rng: Random) -> int:
    places = _fill(passage, WINDOW, 1, _scale(passage, 4, rng))
    sign = rng.choice(["down-bow", "up-bow"])
    for place in (places[0], rng.choice(places[2:])):
        passage.sign(place, sign)
    ends = passage.events[places[0]].iri, passage.events[places[-1]].iri
    passage.slurs.append(Slur(f"{passage.iri}.long", *ends))
    return WINDOW
