"""Real movements, compared note by note with music21 as an outside reference.

The scores are those of the music21 package (https://www.music21.org/music21docs/about/
referenceCorpus.html); nothing of them is kept here.
"""

from collections import Counter
from fractions import Fraction
from pathlib import Path

import pytest

from orchq.readers import read_score
from orchq.terms import OQ

music21 = pytest.importorskip("music21")
CORPUS = Path(music21.__file__).parent / "corpus"
STRINGS = [OQ + slug for slug in ("violin", "violin", "viola", "cello")]

pytestmark = pytest.mark.skipif(not CORPUS.is_dir(), reason="music21 came without its corpus")


def heads_by_reader(part):
    return Counter(
        (event.measure_index, event.offset, event.duration, head.pitch.midi, event.grace)
        for event in part.events
        for head in event.notes
    )


def heads_by_music21(part):
    heads = Counter()
    for index, measure in enumerate(part.getElementsByClass(music21.stream.Measure)):
        for chord in measure.recurse().notes:
            if chord.style.hideObjectOnPrint:
                continue
            place = Fraction(chord.getOffsetInHierarchy(measure)).limit_denominator(960)
            length = Fraction(chord.quarterLength).limit_denominator(960)
            for pitch in chord.pitches:
                heads[index, place, length, int(pitch.ps), chord.duration.isGrace] += 1
    return heads


@pytest.mark.parametrize(
    "movement",
    [
        "haydn/opus1no1/movement4.mxl",  # written-out trills in hidden notes
        "mozart/k80/movement3.mxl",
        "beethoven/opus18no1/movement3.mxl",  # grace notes, incomplete measures
    ],
)
def test_pitches_and_onsets_are_those_of_music21(knowledge, movement):
    score = read_score(CORPUS / movement, knowledge)
    reference = music21.converter.parseFile(CORPUS / movement, forceSource=True, storePickle=False)
    assert len(score.parts) == len(reference.parts) == 4
    for part, other in zip(score.parts, reference.parts, strict=True):
        assert heads_by_reader(part) == heads_by_music21(other)
        assert len(part.measures) == len(other.getElementsByClass(music21.stream.Measure))


def test_sounding_pitches_of_a_double_bass_are_those_of_music21(knowledge):
    path = Path(__file__).parent / "data" / "small.musicxml"
    bass = music21.converter.parseFile(path, forceSource=True, storePickle=False).parts[1]
    sounding = [int(pitch.ps) for pitch in bass.toSoundingPitch().flatten().pitches]
    part = read_score(path, knowledge).parts[1]
    assert [head.pitch.midi for event in part.events for head in event.notes] == sounding


@pytest.mark.parametrize(
    "movement",
    [
        "haydn/opus74no1/movement3.mxl",
        "mozart/k156/movement4.mxl",
        "mozart/k155/movement2.mxl",
        "schumann_robert/opus41no1/movement2.mxl",
        "beethoven/opus59no2/movement3.mxl",  # several files in the container
        "beethoven/opus18no5.mxl",  # UTF-16
    ],
)
def test_string_works_are_read_and_recognised(knowledge, movement):
    score = read_score(CORPUS / movement, knowledge)
    assert [part.instrument for part in score.parts] == STRINGS
    assert not any(part.section for part in score.parts)
    assert len({tuple(m.onset for m in part.measures) for part in score.parts}) == 1
    for part in score.parts:
        assert part.note_count > 50
        lowest = min(head.pitch for event in part.events for head in event.notes)
        assert lowest >= knowledge.instruments[part.instrument].standard.lowest.pitch
        for event in part.events:
            measure = part.measures[event.measure_index]
            assert event.offset + event.duration <= measure.length
