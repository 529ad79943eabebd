"""Single statements of published authors, phrased as checks.

Pages are those of the French Wikisource transcriptions of Berlioz, Grand traité, and of Tavan,
Méthode pratique d'orchestration symphonique.
"""

import pytest

from orchq.derive.hand import Grade, HandModel, Stop, solve
from orchq.derive.harmonic_limits import HarmonicLimits
from orchq.derive.harmonics import (
    HarmonicGrade,
    artificial,
    better_way,
    ways_to_sound,
)
from orchq.notation import Pitch

Models = dict[str, HandModel]
Grants = dict[str, HarmonicLimits]


def _midi(name: str) -> int:
    return Pitch.parse(name).midi


def _stop(model: HandModel, chord: str) -> Stop:
    return solve([_midi(name) for name in chord.split("-")], model)


def _codes(stop: Stop) -> set[str]:
    return {reason.code for reason in stop.struck.reasons}


@pytest.mark.parametrize("top", range(_midi("F5"), _midi("A6") + 1))
def test_e_string_over_two_open_strings(models: Models, top: int) -> None:
    """Berlioz djvu/14: D4 A4 with any note of the E string from F5 to A6."""
    stop = solve([_midi("D4"), _midi("A4"), top], models["violin"])
    assert stop.struck.grade <= Grade.USABLE
    assert "part-open" in _codes(stop)


@pytest.mark.parametrize(
    "chord",
    [
        "D4-A4-F5", "D4-Bb4-F#5", "D4-B4-F#5", "D4-C5-F#5", "D4-B4-G5", "D4-C5-Ab5", "D4-C5-A5",
        "D4-C#5-A5", "D4-D5-Bb5", "D4-D5-B5", "D4-E5-C6", "D4-F5-D6", "D4-F#5-D6", "D4-G5-E6",
    ],
)  # fmt: skip
def test_triple_stops_over_open_d(models: Models, chord: str) -> None:
    """Berlioz djvu/14: good."""
    assert _stop(models["violin"], chord).struck.grade <= Grade.USABLE


@pytest.mark.parametrize("chord", ["D4-A5-F6", "D4-A5-F#6"])
def test_too_high_unless_prepared(models: Models, chord: str) -> None:
    """Berlioz djvu/14: too difficult as an isolated chord."""
    stop = _stop(models["violin"], chord)
    assert stop.struck.grade == Grade.HARD
    assert "high-on-string" in _codes(stop)


@pytest.mark.parametrize("chord", ["D4-A4-F5", "D4-A4-F#5"])
def test_two_open_strings_are_very_easy(models: Models, chord: str) -> None:
    """Berlioz djvu/14: use these instead."""
    assert _stop(models["violin"], chord).struck.grade == Grade.EASY


@pytest.mark.parametrize(
    "chord", ["D4-G4-D5-B5", "D4-G4-D5-Bb5", "C#4-A4-E5-A5", "C#4-A4-G5-A5", "A3-F4-C5-F5"]
)
def test_quadruple_stops_that_want_breaking(models: Models, chord: str) -> None:
    """Berlioz djvu/14: extremely difficult struck, very playable as an arpeggio."""
    stop = _stop(models["violin"], chord)
    assert Grade.HARD <= stop.struck.grade <= Grade.IMPRACTICAL
    assert stop.broken.grade <= Grade.USABLE


@pytest.mark.parametrize("chord", ["A1-C#2", "E1-C2-E2", "E1-A1-D2-G2", "F1-D2-G2-B2"])
def test_bass_stops_one_note_of_three(models: Models, chord: str) -> None:
    """Berlioz djvu/62: at most two or three notes, only one of them stopped."""
    model = models["double-bass-after-berlioz"]
    stop = _stop(model, chord)
    within = stop.struck.stopped <= 1 and len(stop.pitches) <= 3
    assert (stop.struck.grade >= Grade.IMPRACTICAL) == (not within)


def test_bass_refuses_two_stopped_notes_and_four_notes(models: Models) -> None:
    """Berlioz djvu/62, the two sides of the limit."""
    bass = models["double-bass-after-berlioz"]
    assert "stop-count" in _codes(_stop(bass, "F1-C2"))
    assert "stop-count" in _codes(_stop(bass, "E1-A1-D2-G2"))
    assert _stop(bass, "E1-A1-D2").struck.grade == Grade.EASY
    assert _stop(bass, "A1-E2-G2").struck.grade == Grade.EASY


@pytest.mark.parametrize("chord", ["D2-A2", "D2-B2", "D2-C3", "D2-D3"])
def test_bass_double_stops_on_the_open_d_string(models: Models, chord: str) -> None:
    """Berlioz djvu/62, written D3-A3 to D3-D4: usable ff."""
    assert _stop(models["double-bass"], chord).struck.grade <= Grade.USABLE


def test_bass_artificial_harmonics(models: Models, grants: Grants) -> None:
    """Berlioz djvu/62 refuses them, Britannica (14th ed.) grants them; low ones no hand reaches."""
    bass, granted = models["double-bass"], grants["double-bass"]
    on_g = [way for way in artificial(_midi("A2"), 5, bass, granted) if way.string == 1]
    assert [(way.verdict, way.code) for way in on_g] == [(HarmonicGrade.IMPOSSIBLE, "out-of-reach")]
    high = [way for way in artificial(_midi("G3"), 5, bass, granted) if way.string == 1]
    assert [(way.verdict, way.code) for way in high] == [(HarmonicGrade.UNCERTAIN, "disputed")]


def test_prefer_the_natural_twelfth(models: Models, grants: Grants) -> None:
    """Berlioz djvu/29: for B6 the open E string touched at B5 is fuller than B4 touched at E5."""
    violin, granted = models["violin"], grants["violin"]
    asked = artificial(_midi("B4"), 5, violin, granted)[0]
    better = better_way(asked, violin, granted)
    assert better is not None
    assert (better.kind, better.string, better.touched.name) == ("natural", 1, "B5")
    assert ways_to_sound(_midi("B6"), violin, granted)[0] == better


@pytest.mark.parametrize(
    ("thumb", "touched", "sounds"),
    [("A4", "D5", "A6"), ("B4", "E5", "B6"), ("C#5", "F#5", "C#7"), ("D5", "G5", "D7")],
)
def test_cello_thumb_harmonics(
    models: Models, grants: Grants, thumb: str, touched: str, sounds: str
) -> None:
    """Berlioz djvu/51: the thumb stops, the third finger touches a fourth above."""
    ways = artificial(_midi(thumb), _midi(touched) - _midi(thumb), models["cello"], grants["cello"])
    on_a = next(way for way in ways if way.string == 1)
    assert on_a.verdict == HarmonicGrade.GOOD
    assert on_a.sounding.midi == _midi(sounds)
    assert on_a.touched.midi == _midi(touched)


def test_cello_thumb_harmonic_at_the_middle_takes_thumb_and_third(
    models: Models, grants: Grants
) -> None:
    """Berlioz djvu/51."""
    way = artificial(_midi("A4"), 5, models["cello"], grants["cello"])
    assert next(w for w in way if w.string == 1).fingers == ("T", "3")


@pytest.mark.parametrize("chord", ["Eb4-F4", "E4-F#4", "F4-G4", "F#4-G#4", "Bb4-C5", "C5-D5"])
def test_seconds_away_from_open_strings(models: Models, chord: str) -> None:
    """Tavan djvu/9: difficult."""
    assert _stop(models["violin"], chord).struck.grade == Grade.HARD
