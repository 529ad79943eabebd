"""Planters of what no string, hand or reader answers; importing this module registers them."""

from fractions import Fraction
from random import Random

from msgspec.structs import replace

from orchq.notation import Pitch
from orchq.score import Note, Slur
from orchq.terms import oq

from .passages import AFTER, WINDOW, Passage
from .planting import ALL, UPPER, _measure, _pluck, _somewhere, _touch, plants
from .timing import SEMIQUAVER, _fill


@plants("clef-not-read", ("violin", "viola"))
def _bass_clef(passage: Passage, rng: Random) -> int:
    passage.word(WINDOW, "clef-bass")
    passage.word(AFTER, "clef-treble")
    return WINDOW


@plants("many-ledger-lines", ("viola",))
def _above_the_staff(passage: Passage, rng: Random) -> int:
    low = Pitch.parse("F5").midi + rng.randint(0, 2)
    _fill(passage, WINDOW, Fraction(1, 2), [[low + step] for step in (0, 2, 4, 5, 7, 5, 4, 2)])
    passage.word(0, "clef-alto")
    return WINDOW


@plants("bow-directions-contradict")
@plants("bow-directions-contradict", section=True)
def _both_bows(passage: Passage, rng: Random) -> int:
    passage.clear_slurs()
    place = _somewhere(passage, rng)
    passage.sign(place, "down-bow")
    passage.sign(place, "up-bow")
    return _measure(passage, place)


@plants("string-called-too-high", UPPER, section=True)
def _high_call(passage: Passage, rng: Random) -> int:
    name = passage.instrument.standard.strings[-1].name
    passage.word(WINDOW, f"on-{name.lower()}-string")
    passage.word(AFTER, "loco")
    top = passage.opens[-1] + 24
    _fill(passage, WINDOW, 2, [[top - 2], [top + rng.randint(0, 1)]])
    _fill(passage, WINDOW + 1, 4, [[passage.opens[-1] + 12]])
    return WINDOW


@plants("glissando-over-strings", ALL, follows=("position-leap-too-quick",))
def _wide_slide(passage: Passage, rng: Random) -> int:
    low = passage.opens[-1] + rng.randint(0, 1)
    places = _fill(passage, WINDOW, 2, [[low], [low + 33]])
    passage.sign(places[0], "glissando")
    return WINDOW


@plants("artificial-harmonics-too-fast", ("violin",), section=True)
def _quick_harmonics(passage: Passage, rng: Random) -> int:
    low = Pitch.parse("G#3").midi
    for place in _fill(passage, WINDOW, SEMIQUAVER, [[low + n] for n in (0, 2, 4, 5, 4, 2)]):
        _touch(passage, place, passage.events[place].notes[0].pitch.midi, 5)
    return WINDOW


@plants("harmonic-sound-unsaid")
def _diamond_alone(passage: Passage, rng: Random) -> int:
    place = _somewhere(passage, rng)
    passage.sound(place, rng.choice(passage.opens) + 7, notehead="diamond")
    return _measure(passage, place)


@plants(
    "leaps-in-a-row-too-quick",
    ("violin",),
    follows=("position-leap-too-quick", "strings-apart-by-turns"),
)
def _to_and_fro(passage: Passage, rng: Random) -> int:
    low, high = Pitch.parse("G#3").midi, Pitch.parse("A6").midi + rng.randint(0, 2)
    _fill(passage, WINDOW, SEMIQUAVER / 2, [[low], [high]] * 4)
    return WINDOW


@plants("slur-over-strings-apart", ("violin",), section=True)
def _skipped_strings(passage: Passage, rng: Random) -> int:
    low, high = Pitch.parse("A3").midi, Pitch.parse("B5").midi
    places = _fill(passage, WINDOW, SEMIQUAVER / 2, [[low], [high]] * rng.randint(2, 3))
    first, last = passage.events[places[0]].iri, passage.events[places[-1]].iri
    passage.slurs.append(Slur(f"{first}.slur", first, last))
    return WINDOW


@plants("plucked-chords-too-fast", UPPER, section=True, follows=("pizzicato-too-fast",))
def _quick_chords(passage: Passage, rng: Random) -> int:
    _pluck(passage)
    chord = [passage.opens[-1], passage.opens[-2], passage.opens[-3] + 2]
    _fill(passage, WINDOW, SEMIQUAVER, [chord] * rng.randint(5, 8))
    return WINDOW


@plants("trill-without-finger", ("violin",))
def _trilled_ninth(passage: Passage, rng: Random) -> int:
    low = Pitch.parse("C5").midi
    (place,) = _fill(passage, WINDOW, 4, [[low, low + 14]])
    passage.sign(place, "trill")
    return WINDOW


@plants("left-hand-pizzicato-without-finger", ("violin",))
def _plucked_beside_an_octave(passage: Passage, rng: Random) -> int:
    low = Pitch.parse("B3").midi
    (place,) = _fill(passage, WINDOW, 4, [[low, low + 12]])
    held = passage.events[place]
    note = Note(f"{held.iri}.plucked.n1", Pitch.parse("F5"))
    signs = frozenset({oq("left-hand-pizzicato").value})
    plucked = replace(held, iri=f"{held.iri}.plucked", notes=(note,), voice="2", marks=signs)
    passage.events.insert(place + 1, plucked)
    return WINDOW


@plants("artificial-harmonics-leap-too-quick", ("violin",))
def _flying_harmonics(passage: Passage, rng: Random) -> int:
    low, high = Pitch.parse("G#3").midi, Pitch.parse("D6").midi + rng.randint(0, 2)
    for place in _fill(passage, WINDOW, SEMIQUAVER, [[low], [high]]):
        _touch(passage, place, passage.events[place].notes[0].pitch.midi, 5)
    return WINDOW
