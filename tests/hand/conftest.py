"""Hand models of the four instruments, from values stated here; the weights are the graph's.

String lengths: violin, viola and double bass (3/4 and 4/4) are the middle of the ranges that
Franz Klanner gives (The Violin Channel); the cello's joins his 700 mm with 690 mm from memory.
Spans that are noted as such follow, by x = L(1 - 2^(-n/12)), from what an author grants in
semitones; all other spans, fingerboard lengths and soloists' heights are from memory.
"""

import csv
from collections.abc import Callable
from pathlib import Path

import pytest
from msgspec.structs import replace

from orchq import load
from orchq.derive.hand import Frame, HandModel, Level, hand_weights
from orchq.derive.harmonic_limits import HarmonicLimits

# Relaxed 1-4: Tavan (djvu/8-9), a fourth in every position, so 1 to 6 semitones on 328 mm.
# Stretched 1-4: Tavan (djvu/9), first finger back and fourth finger out, 1 to 8 semitones.
# Widest 1-4: the major tenth from the second semitone, memory.
VIOLIN_FRAMES = (
    Frame("1", "2", 34, 50, 64),
    Frame("1", "3", 64, 78, 91),
    Frame("1", "4", 78, 103, 120),
    Frame("2", "3", 34, 44, 58),
    Frame("2", "4", 61, 70, 86),
    Frame("3", "4", 31, 40, 50),
)
# Relaxed 1-4: Berlioz (djvu/42), the violin's fingering, so 1 to 6 semitones on 375 mm.
VIOLA_FRAMES = (
    Frame("1", "2", 39, 55, 68),
    Frame("1", "3", 73, 86, 96),
    Frame("1", "4", 89, 108, 124),
    Frame("2", "3", 39, 48, 60),
    Frame("2", "4", 69, 77, 90),
    Frame("3", "4", 35, 44, 53),
)
# 1-4: The Cello Companion, a minor third closed (1 to 4 semitones) and a major third extended
# (1 to 5). T-3 relaxed: Broadley (ch. XII), the octave of thumb and third finger at the middle.
CELLO_FRAMES = (
    Frame("1", "2", 37, 72, 88),
    Frame("1", "3", 72, 105, 120),
    Frame("1", "4", 105, 136, 150),
    Frame("2", "3", 37, 55, 65),
    Frame("2", "4", 72, 95, 110),
    Frame("3", "4", 37, 52, 60),
    Frame("T", "1", 60, 95, 120, 1),
    Frame("T", "2", 72, 115, 140, 1),
    Frame("T", "3", 88, 131, 155, 1),
    Frame("T", "4", 105, 156, 170, 1),
)
# 1-4 and 1-2: American School of Double Bass, a whole tone (1 to 3 semitones) and a half step.
# Stretched 1-4: Dalla Torre, a minor third from the fourth of the string (5 to 8 semitones).
BASS_FRAMES = (
    Frame("1", "2", 57, 86, 110),
    Frame("1", "3", 87, 110, 127, 5),
    Frame("1", "4", 110, 127, 148),
    Frame("2", "3", 45, 57, 72, 5),
    Frame("2", "4", 57, 86, 102),
    Frame("3", "4", 45, 57, 72, 5),
    Frame("T", "1", 59, 88, 110, 7),
    Frame("T", "2", 85, 110, 132, 7),
    Frame("T", "3", 110, 134, 152, 7),
)

WEIGHTS = hand_weights(load())

# Secure height: Berlioz (djvu/14) grants two fingers at the octave of the string and not above.
_VIOLIN = HandModel(
    strings=(76, 69, 62, 55),
    length_mm=326.5,
    highest_stop=31,
    frames=VIOLIN_FRAMES,
    secure_semitone=12,
    step_semitones=2,
    most_notes=4,
    most_sustained=2,
    forte_from=3,
    weights=WEIGHTS,
)
_VIOLA = replace(_VIOLIN, strings=(69, 62, 55, 48), length_mm=375, frames=VIOLA_FRAMES)
_CELLO = HandModel(
    strings=(57, 50, 43, 36),
    length_mm=695,
    highest_stop=30,
    frames=CELLO_FRAMES,
    secure_semitone=12,
    most_notes=4,
    most_sustained=2,
    forte_from=3,
    weights=WEIGHTS,
)
# Counts: two stopped notes of three, from memory; Berlioz (djvu/62) grants one.
_BASS = HandModel(
    strings=(43, 38, 33, 28),
    length_mm=1065,
    highest_stop=28,
    frames=BASS_FRAMES,
    secure_semitone=12,
    most_notes=3,
    most_stopped=2,
    most_sustained=2,
    forte_from=3,
    weights=WEIGHTS,
)
_SECURE: dict[Level, int] = {"student": 8, "orchestral": 12, "soloist": 24}


@pytest.fixture(scope="session")
def models() -> dict[str, HandModel]:
    """Hand models of orchestral players by the slug of the instrument, and of two old basses."""
    return {
        "violin": _VIOLIN,
        "viola": _VIOLA,
        "cello": _CELLO,
        "double-bass": _BASS,
        "double-bass-after-berlioz": replace(_BASS, most_stopped=1),
        "double-bass-in-fifths": replace(_BASS, strings=(45, 38, 31)),
        "double-bass-five-strings": replace(_BASS, strings=(43, 38, 33, 28, 23)),
    }


@pytest.fixture(scope="session")
def at_level() -> Callable[[HandModel, Level], HandModel]:
    """A maker of the same hand model for a player of another level."""

    def change(model: HandModel, level: Level) -> HandModel:
        return replace(model, level=level, secure_semitone=_SECURE[level])

    return change


@pytest.fixture(scope="session")
def grants() -> dict[str, HarmonicLimits]:
    """What is granted in harmonics.

    Natural: all grant partial 5 or 6 (from memory; Sametini, in Martens, 6), some 8 (Wolfe,
    UNSW). Artificial: the touched fourth and fifth (Berlioz, djvu/29); on the bass Berlioz
    (djvu/62) refuses them and the Encyclopaedia Britannica, 14th ed., grants them.
    """
    fiddle = HarmonicLimits(sure_partial=5, highest_partial=8, artificial_partial=4)
    fiddle = replace(fiddle, highest_on_lower=21)
    viola = replace(fiddle, highest_on_lower=18)
    cello = replace(fiddle, sure_partial=6, highest_on_lower=19)
    bass = replace(cello, artificial="disputed", highest_on_lower=12)
    return {"violin": fiddle, "viola": viola, "cello": cello, "double-bass": bass}


@pytest.fixture(scope="session")
def table() -> Callable[[str], list[dict[str, str]]]:
    """A reader of the expected tables in ``data``: rows by column, comment lines left out."""

    def read(name: str) -> list[dict[str, str]]:
        text = (Path(__file__).parent / "data" / name).read_text(encoding="utf-8")
        lines = [line for line in text.splitlines() if not line.startswith("#")]
        return list(csv.DictReader(lines))

    return read
