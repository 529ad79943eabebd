"""One planter for each rule: it spoils a legal passage and says where the rule must speak."""

from collections.abc import Callable
from dataclasses import dataclass
from fractions import Fraction
from random import Random

from msgspec.structs import replace

from orchq.notation import Pitch
from orchq.score import Hairpin
from orchq.terms import oq

from .passages import AFTER, WINDOW, Passage

Planter = Callable[[Passage, Random], int]
"""Spoils the passage and returns the index of the measure where the finding belongs."""


@dataclass(frozen=True)
class Plant:
    """A planter with what it needs.

    ``instruments`` are slugs; ``section`` says whether several players share the part;
    ``follows`` are rules that the same mark rightly sets off as well.
    """

    rule: str
    plant: Planter
    instruments: tuple[str, ...]
    section: bool = False
    follows: frozenset[str] = frozenset()


PLANTS: list[Plant] = []
ALL = ("violin", "viola", "cello", "double-bass")
UPPER = ("violin", "viola", "cello")


def plants(
    rule: str,
    instruments: tuple[str, ...] = ALL,
    *,
    section: bool = False,
    follows: tuple[str, ...] = (),
) -> Callable[[Planter], Planter]:
    """Register a planter for a rule."""

    def register(planter: Planter) -> Planter:
        PLANTS.append(Plant(rule, planter, instruments, section, frozenset(follows)))
        return planter

    return register


def _somewhere(passage: Passage, rng: Random) -> int:
    return rng.choice(passage.window())


def _measure(passage: Passage, place: int) -> int:
    return passage.events[place].measure_index


# ------------------------------------------------------------------------ pitches


@plants("note-below-lowest-string")
def _below(passage: Passage, rng: Random) -> int:
    place = _somewhere(passage, rng)
    tunings = (passage.instrument.standard, *passage.instrument.variants)
    lowest = min(tuning.lowest.pitch.midi for tuning in tunings)
    passage.sound(place, lowest - rng.randint(1, 4))
    return _measure(passage, place)


@plants("note-needs-extension", ("double-bass",))
def _extension(passage: Passage, rng: Random) -> int:
    place = _somewhere(passage, rng)
    passage.sound(place, passage.opens[-1] - rng.randint(1, 4))
    return _measure(passage, place)


@plants("note-above-compass", UPPER, follows=("position-leap-too-quick",))
@plants(
    "note-above-compass",
    section=True,
    follows=("high-tutti-register", "position-leap-too-quick"),
)
def _above(passage: Passage, rng: Random) -> int:
    level = oq("orchestral" if passage.section else "soloist").value
    limits = passage.knowledge.in_force("CompassLimit", passage.instrument, level=level)
    tops = [Pitch.parse(str(limit.values["highestPitch"])).midi for limit in limits]
    place = _somewhere(passage, rng)
    passage.only(place, 4)
    place = next(n for n in passage.window() if passage.events[n].duration == 4)
    passage.sound(place, max(tops) + rng.randint(1, 3))
    return _measure(passage, place)


@plants("high-tutti-register", ("violin",), section=True)
def _high_tutti(passage: Passage, rng: Random) -> int:
    passage.only(passage.window()[0], 4)
    place = passage.window()[0]
    passage.sound(place, Pitch.parse(rng.choice(["F6", "F#6", "G6"])).midi)
    return _measure(passage, place)


@plants("octave-of-treble-clef-in-doubt", ("cello",))
def _clef(passage: Passage, rng: Random) -> int:
    passage.word(0, "clef-bass")
    passage.word(WINDOW, "clef-treble")
    passage.word(AFTER, "clef-bass")
    for place in passage.window():
        passage.sound(place, Pitch.parse("G4").midi + rng.randint(0, 2))
    return WINDOW


# ------------------------------------------------------------------------ strings


@plants("string-cannot-sound-pitch")
def _wrong_string(passage: Passage, rng: Random) -> int:
    names = passage.instrument.standard.strings
    passage.word(WINDOW, f"on-{names[0].name.lower()}-string")
    inside = passage.window()
    for place in inside:
        passage.sound(place, passage.opens[0] + rng.randint(1, 4))
    place = rng.choice(inside)
    passage.sound(place, passage.opens[0] - rng.randint(1, 3))
    return _measure(passage, place)


@plants("string-call-names-no-string")
def _no_such_string(passage: Passage, rng: Random) -> int:
    names = {string.name for string in passage.instrument.standard.strings}
    passage.word(WINDOW, f"on-{rng.choice(sorted({'C', 'E'} - names)).lower()}-string")
    return WINDOW


@plants("open-string-mark-on-stopped-pitch")
def _not_open(passage: Passage, rng: Random) -> int:
    place = _somewhere(passage, rng)
    passage.sound(place, rng.choice(passage.opens[1:]) + 1)
    passage.sign(place, "open-string")
    return _measure(passage, place)


@plants("vibrato-on-open-string")
def _vibrato(passage: Passage, rng: Random) -> int:
    passage.word(WINDOW, "molto-vibrato")
    passage.word(AFTER, "poco-vibrato")
    place = _somewhere(passage, rng)
    passage.sound(place, rng.choice(passage.opens[:2]))
    passage.sign(place, "open-string")
    return _measure(passage, place)


# --------------------------------------------------------------------- techniques


@plants("dynamic-outside-envelope")
def _too_loud(passage: Passage, rng: Random) -> int:
    technique, dynamic = rng.choice(
        [("spiccato", "ff"), ("sul-tasto", "ff"), ("sul-ponticello", "fff")]
    )
    passage.clear_slurs()
    passage.word(WINDOW, technique, dynamic)
    passage.word(AFTER, "ordinario", "mf")
    return WINDOW


@plants("technique-not-on-instrument")
def _foreign(passage: Passage, rng: Random) -> int:
    place = _somewhere(passage, rng)
    passage.sign(place, rng.choice(["double-tongue", "heel"]))
    return _measure(passage, place)


@plants("techniques-exclude-each-other")
def _contradiction(passage: Passage, rng: Random) -> int:
    first, second = rng.choice([("sul-ponticello", "sul-tasto"), ("sul-ponticello", "flautando")])
    passage.word(WINDOW, first, "p")
    passage.word(WINDOW, second)
    passage.word(AFTER, "ordinario", "poco-vibrato", "mf")
    return WINDOW


@plants("instruction-never-cancelled")
def _forgotten_mute(passage: Passage, rng: Random) -> int:
    passage.word(WINDOW, "con-sordino", "mf")
    passage.word(AFTER, "con-sordino")
    return AFTER


def _pluck(passage: Passage) -> None:
    passage.clear_slurs()
    passage.word(WINDOW, "pizzicato")
    passage.word(AFTER, "arco")


@plants("bow-mark-while-plucking")
def _bow_sign(passage: Passage, rng: Random) -> int:
    _pluck(passage)
    place = _somewhere(passage, rng)
    passage.sign(place, rng.choice(["down-bow", "up-bow"]))
    return _measure(passage, place)


@plants("swell-on-one-plucked-note")
def _swell(passage: Passage, rng: Random) -> int:
    _pluck(passage)
    place = _somewhere(passage, rng)
    event = passage.events[place]
    passage.hairpins.append(Hairpin(f"{passage.iri}.pin", True, event.onset, event.end))
    return event.measure_index


@plants("trill-on-plucked-note")
def _plucked_trill(passage: Passage, rng: Random) -> int:
    _pluck(passage)
    place = _somewhere(passage, rng)
    passage.sign(place, "trill")
    return _measure(passage, place)


@plants("mute-off-without-mute")
def _mute_off(passage: Passage, rng: Random) -> int:
    passage.word(WINDOW, "senza-sordino")
    return WINDOW


@plants("arco-missing-after-pizzicato")
def _no_arco(passage: Passage, rng: Random) -> int:
    passage.clear_slurs()
    passage.slurs = [s for s in passage.slurs if passage.events[0].iri == s.first]
    passage.word(WINDOW, "pizzicato")
    place = rng.choice([n for n, e in enumerate(passage.events) if e.measure_index >= AFTER])
    passage.sign(place, "up-bow")
    return _measure(passage, place)


@plants("note-above-technique-compass", ("violin",))
def _high_pizzicato(passage: Passage, rng: Random) -> int:
    _pluck(passage)
    passage.only(passage.window()[0], 4)
    passage.sound(passage.window()[0], Pitch.parse(rng.choice(["C#6", "D6", "F6"])).midi)
    return WINDOW


@plants("more-divisi-than-players", section=True)
def _many_parts(passage: Passage, rng: Random) -> int:
    passage.word(WINDOW, "divisi", number=rng.randint(7, 12))
    passage.word(AFTER, "unison")
    return WINDOW


# -------------------------------------------------------------------- the left hand


@plants("stop-impossible")
def _one_string(passage: Passage, rng: Random) -> int:
    place = _somewhere(passage, rng)
    lowest = passage.opens[-1]
    passage.sound(place, lowest + 1, lowest + rng.randint(2, 4))
    return _measure(passage, place)


@plants("stop-hard", ("violin", "viola"))
def _hard(passage: Passage, rng: Random) -> int:
    """The shape that Berlioz calls extremely difficult when struck (djvu/14)."""
    place = _somewhere(passage, rng)
    event = passage.events[place]
    passage.events[place] = replace(event, duration=min(event.duration, Fraction(1)))
    shift = passage.opens[0] - Pitch.parse("E5").midi
    chord = rng.choice([("D4", "G4", "D5", "B5"), ("D4", "G4", "D5", "Bb5")])
    passage.sound(place, *(Pitch.parse(name).midi + shift for name in chord))
    return event.measure_index


@plants("too-many-notes-stopped", ("double-bass",))
def _bass_stops(passage: Passage, rng: Random) -> int:
    place = _somewhere(passage, rng)
    step = rng.randint(1, 3)
    passage.sound(place, *(opened + step for opened in passage.opens[-3:]))
    return _measure(passage, place)


def _open_chord(passage: Passage, place: int) -> None:
    low, middle, high = passage.opens[-1], passage.opens[-2], passage.opens[-3]
    passage.sound(place, low, middle, high + 2)


@plants("chord-held-too-long", UPPER)
def _held_chord(passage: Passage, rng: Random) -> int:
    passage.only(_somewhere(passage, rng), rng.choice([2, 4]))
    place = next(
        n
        for n in passage.window()
        if sum(e.measure_index == passage.events[n].measure_index for e in passage.events) == 1
    )
    _open_chord(passage, place)
    return _measure(passage, place)


@plants("chord-too-soft", UPPER)
def _soft_chord(passage: Passage, rng: Random) -> int:
    passage.word(WINDOW, rng.choice(["p", "pp"]))
    passage.word(AFTER, "mf")
    place = _somewhere(passage, rng)
    event = passage.events[place]
    passage.events[place] = replace(event, duration=min(event.duration, Fraction(1)))
    _open_chord(passage, place)
    return event.measure_index


def _touch(passage: Passage, place: int, base: int, interval: int) -> None:
    passage.sound(place, base, base + interval)
    event = passage.events[place]
    stopped, touched = event.notes
    notes = replace(stopped, role="base"), replace(touched, role="touching", notehead="diamond")
    passage.events[place] = replace(event, notes=notes)
    passage.sign(place, "artificial-harmonic")


@plants("harmonic-has-no-node")
def _wrong_sound(passage: Passage, rng: Random) -> int:
    """A touched fourth gives the double octave; another note is printed as sounding."""
    place = _somewhere(passage, rng)
    opened = passage.opens[-1]
    passage.sound(place, opened + 5, opened + 24 + rng.choice([-2, -1, 1]))
    event = passage.events[place]
    touched, sounding = event.notes
    notes = (
        replace(touched, role="touching", notehead="diamond"),
        replace(sounding, role="sounding"),
    )
    passage.events[place] = replace(event, notes=notes)
    passage.sign(place, "natural-harmonic")
    return event.measure_index


@plants("harmonic-out-of-reach", ("cello",), follows=("harmonic-sound-unsaid",))
def _wide_touch(passage: Passage, rng: Random) -> int:
    place = _somewhere(passage, rng)
    _touch(passage, place, passage.opens[-1] + rng.randint(1, 3), 7)
    return _measure(passage, place)


@plants("harmonic-unreliable", ("violin",), follows=("harmonic-sound-unsaid",))
def _weak_touch(passage: Passage, rng: Random) -> int:
    place = _somewhere(passage, rng)
    _touch(passage, place, Pitch.parse("B4").midi, rng.choice([3, 4]))
    return _measure(passage, place)


@plants("natural-harmonic-sounds-better", ("violin",))
def _better(passage: Passage, rng: Random) -> int:
    """B6 as a touched fourth, where the open E string has it (Berlioz, djvu/29)."""
    place = _somewhere(passage, rng)
    _touch(passage, place, Pitch.parse("B4").midi, 5)
    return _measure(passage, place)


@plants("key-too-remote")
def _remote_key(passage: Passage, rng: Random) -> int:
    passage.word(WINDOW, "tempo-allegro")
    signature = rng.choice([-6, -5, 5, 6])
    # The figure keeps the tempo of the other passages, which share the score's one clock.
    passage.marks[-1] = replace(passage.marks[-1], signature=signature, tempo=Fraction(80))
    return WINDOW
