"""Reasons for or against a harmonic in words, shared by rules and answers."""

from orchq.derive.harmonics import Harmonic, HarmonicCode
from orchq.knowledge import Instrument

_WORDS: dict[HarmonicCode, str] = {
    "beyond-fingerboard": "the touched place lies beyond the fingerboard",
    "out-of-reach": "the fingers would stand {mm} mm apart, no hand reaches more than {granted} mm",
    "beyond-reach": "the fingers stand {mm} mm apart, this player reaches {granted} mm",
    "refused": "an authority rules out artificial harmonics on the instrument",
    "disputed": "authorities differ on whether the instrument has it",
    "stretched": "the fingers stand {mm} mm apart, more than the {granted} mm of a hand at rest",
    "high-partial": "it is partial {partial} of the open string, higher than is granted",
    "weak-partial": "partial {partial} is weak over a stopped note",
    "speaks-well": "it speaks well",
}


def in_words(harmonic: Harmonic) -> str:
    """Return how a harmonic speaks, with the reach in millimeters or the deciding partial."""
    return _WORDS[harmonic.code].format(
        mm=round(harmonic.reach_mm),
        granted=round(harmonic.granted_mm),
        partial=harmonic.partial,
    )


def how(harmonic: Harmonic, instrument: Instrument) -> str:
    """Return in words how a harmonic is taken."""
    string = instrument.standard.strings[harmonic.string - 1]
    touch = f"touch {harmonic.touched} on the {string.name} string"
    return touch if harmonic.kind == "natural" else f"stop {harmonic.base}, {touch}"
