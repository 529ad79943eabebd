"""Ten places that the question about examples gives, held against what their files print.

Each was looked at by hand. The files are read by ``printed.py``, which shares no code with the
package. Those of the music21 package are there whenever it is; the others are looked for below
the folder that ``ORCHQ_SCORES`` names, in ``quartets`` (OpenScore String Quartets) and
``orchestra`` (Hauptstimme).
"""

import importlib.util
import os
from dataclasses import dataclass
from fractions import Fraction
from pathlib import Path

import pytest

import orchq

from .printed import measures

OPENSCORE, HAUPTSTIMME, MUSIC21 = "openscore-string-quartets", "hauptstimme", "music21-corpus"
FOLDERS = {OPENSCORE: "quartets", HAUPTSTIMME: "orchestra"}


@dataclass(frozen=True)
class Case:
    """What is asked, the place that is among the answers, and what is printed there.

    ``words`` and ``dynamic`` stand in measures of their own, counted from 0: the last before the
    place, or that of the place.
    """

    asked: dict[str, object]
    data_set: str
    file: str
    part: int
    measure: int
    beat: float
    notes: set[str]
    words: tuple[int, str] | None = None
    dynamic: tuple[int, str] | None = None
    harmonic: bool = False
    tremolo: bool = False
    since: tuple[int, str, Fraction] | None = None
    seconds: float | None = None


OP_59_1 = "beethoven/opus59no1/movement2.mxl"
OP_132 = "beethoven/opus132.mxl"
OP_41_1 = "schumann_robert/opus41no1/movement5.mxl"
BARTOK_1 = "Bartók,_Béla/String_Quartet_No.1,_Op.7_(Sz.40)/sq7295726.mxl"
BRIDGE_1 = "Bridge,_Frank/String_Quartet_No.1,_H.70/sq8938822.mxl"
ANDREE = "Andrée,_Elfrida/String_Quartet_in_A_major/sq7313978.mxl"
FIFTH_3 = "Beethoven,_Ludwig_van/Symphony_No.5,_Op.67/3/Beethoven_Op.67_3.mxl"

CASES = {
    # m. 473: "pizz." four measures before, then ff on the repeated low B flat.
    "pizzicato at ff": Case(
        {"technique": "pizzicato", "at": "ff", "composer": "Beethoven"},
        MUSIC21, OP_59_1, 3, 472, 1, {"Bb2"}, words=(468, "pizz."), dynamic=(472, "ff"),
    ),
    # m. 145: B4-G5 in the upper voice, G3-D4 in the lower.
    "a stop in two voices": Case(
        {"stop": "G3 D4 B4 G5", "on": "violin", "composer": "Schumann"},
        MUSIC21, OP_41_1, 0, 144, 1, {"G3", "D4", "B4", "G5"},
    ),
    "a stop with its dynamic": Case(
        {"stop": "C2 G2 E3 C4", "at": "f", "composer": "Schumann"},
        MUSIC21, OP_41_1, 3, 79, 1, {"C2", "G2", "E3", "C4"}, dynamic=(79, "f"),
    ),
    # m. 175: in treble clef, under the sign for a harmonic.
    "a harmonic by its pitch": Case(
        {"harmonic": "D6", "on": "cello"},
        MUSIC21, OP_41_1, 3, 174, 1, {"D6"}, harmonic=True,
    ),
    # m. 656: quaver with a dot = 80; from the last plucked semiquaver to the bow is a semiquaver.
    "a quick change": Case(
        {"change": "pizzicato arco", "within": "0.5s", "on": "viola"},
        MUSIC21, OP_132, 2, 655, 1, {"B3"}, words=(655, "arco"), dynamic=(655, "pp"),
        since=(654, "F#3", Fraction(9, 4)), seconds=0.25,
    ),
    # m. 6 of the second movement, which is muted from its first measure (171 of the part).
    "con sordino at f": Case(
        {"technique": "con sordino", "at": "f", "composer": "Andrée"},
        OPENSCORE, ANDREE, 0, 175, 1, {"G#5"}, words=(170, "con sordino"), dynamic=(175, "f"),
    ),
    "tremolo at fff": Case(
        {"technique": "tremolo", "at": "fff", "on": "violin"},
        OPENSCORE, BRIDGE_1, 0, 461, 1, {"C#5", "G#5"}, dynamic=(461, "fff"), tremolo=True,
    ),
    # In ff and with a sforzato, of which nobody prints how loud it is.
    "a stop of the viola": Case(
        {"stop": "C3 G3 E4 C5", "on": "viola"},
        OPENSCORE, BARTOK_1, 2, 728, 1, {"C3", "G3", "E4", "C5"},
    ),
    "a natural harmonic": Case(
        {"harmonic": "natural", "on": "cello"},
        OPENSCORE, BARTOK_1, 3, 341, 1, {"G3"}, dynamic=(341, "p"), harmonic=True,
    ),
    # m. 106: dotted half = 96; from the last plucked note to the bow is a quarter.
    "a change within a second": Case(
        {"change": "pizz. to arco", "within": 1, "composer": "Beethoven", "on": "cello"},
        HAUPTSTIMME, FIFTH_3, 16, 105, 1, {"G4"}, words=(105, "arco"), dynamic=(105, "f"),
        since=(104, "G2", Fraction(3)), seconds=0.21,
    ),
}  # fmt: skip


def score(case):
    """The file of a place, where it is at hand."""
    if case.data_set == MUSIC21:
        spec = importlib.util.find_spec("music21")
        if spec is None or spec.origin is None:
            pytest.skip("music21, which carries the score, is not installed")
        return Path(spec.origin).parent / "corpus" / case.file
    folder = os.environ.get("ORCHQ_SCORES")
    path = Path(folder or "", FOLDERS[case.data_set], case.file)
    if not folder or not path.is_file():
        pytest.skip("ORCHQ_SCORES names no folder with this score")
    return path


def answer_of(case):
    """The answer that gives the place of a case."""
    found = orchq.load().ask.examples(**case.asked, limit=1000)
    [answer] = [
        answer
        for answer in found
        if answer.file == case.file
        and answer.evidence[0].limit.endswith(f"/{case.data_set}")
        and answer.place.part_index == case.part
        and (answer.place.measure_index, answer.place.beat) == (case.measure, case.beat)
    ]
    return answer


@pytest.mark.parametrize("name", CASES)
def test_the_place_is_given(name):
    case = CASES[name]
    answer = answer_of(case)
    if case.seconds is not None:
        assert (answer.seconds, answer.tempo) == (case.seconds, "marked")


@pytest.mark.parametrize("name", CASES)
def test_it_is_printed_so(name):
    case = CASES[name]
    part = measures(score(case), case.part)
    place, beat = part[case.measure], Fraction(case.beat)
    assert answer_of(case).place.measure == place.number
    assert place.notes[beat] == case.notes
    assert (place.harmonics[beat] == case.notes) == case.harmonic
    assert (beat in place.tremolos) == case.tremolo
    if case.words:
        measure, words = case.words
        assert words in part[measure].words
    if case.dynamic:
        measure, dynamic = case.dynamic
        assert dynamic in part[measure].dynamics
    if case.since:
        measure, pitch, last = case.since
        assert max(part[measure].notes) == last
        assert part[measure].notes[last] == {pitch}
        assert measure == case.measure - 1
