"""The packaged demo: its planted mistakes are found, all of them and nothing else."""

from collections.abc import Iterable
from fractions import Fraction

import music21
import pytest
from rdflib import Graph
from rdflib.compare import isomorphic

import orchq
from orchq.rules.finding import Finding
from orchq.severity import Severity

Planted = tuple[str, str, float, str, Severity]

# part, printed measure, beat in quarter notes, rule, severity
PLANTED: tuple[Planted, ...] = (
    # pizzicato on D6
    ("Violins I", "17", 3.0, "note-above-technique-compass", "warning"),
    # eight players on G6
    ("Violins I", "38", 1.0, "high-tutti-register", "info"),
    # the open-string sign of the A slipped to the B flat beside it
    ("Violins II", "3", 4.0, "open-string-mark-on-stopped-pitch", "violation"),
    # F sharp below the G string; in the last measure, retuned, the same note is right
    ("Violins II", "8", 1.0, "note-below-lowest-string", "violation"),
    # spiccato at ff
    ("Violins II", "36", 1.0, "dynamic-outside-envelope", "warning"),
    # a down-bow sign ends the piece, and the last word printed is pizz.
    ("Violins II", "40", 1.0, "arco-missing-after-pizzicato", "warning"),
    # C sharp under sul D
    ("Violas", "7", 2.0, "string-cannot-sound-pitch", "violation"),
    # sul E, taken over from the violins
    ("Violas", "38", 1.0, "string-call-names-no-string", "violation"),
    # F sharp an octave too high; how high sections go is known from memory, which condemns nothing
    ("Violas", "39", 3.0, "note-above-compass", "warning"),
    # an up-bow sign among plucked notes
    ("Cellos", "15", 3.0, "bow-mark-while-plucking", "violation"),
    # molto vibrato on the open A
    ("Cellos", "21", 2.0, "vibrato-on-open-string", "violation"),
    # sul tasto and sul ponticello at once
    ("Cellos", "28", 1.0, "techniques-exclude-each-other", "violation"),
    # double tonguing
    ("Cellos", "36", 1.0, "technique-not-on-instrument", "violation"),
    # D1 without a word on the stringing
    ("Double Basses", "8", 1.0, "note-needs-extension", "info"),
    # a hairpin that opens under one plucked note
    ("Double Basses", "17", 1.0, "swell-on-one-plucked-note", "violation"),
    # three parts for two players
    ("Double Basses", "40", 1.0, "more-divisi-than-players", "violation"),
)

SCORE = orchq.demo_path()
TRIPLES = SCORE.with_suffix(".ttl")


def _places(findings: Iterable[Finding]) -> list[Planted]:
    return sorted((f.part, f.measure, f.beat, f.rule, f.severity) for f in findings)


@pytest.mark.parametrize("path", [SCORE, TRIPLES], ids=["score", "triples"])
def test_every_planted_mistake_is_found_and_nothing_else(path):
    assert _places(orchq.check(path).findings) == sorted(PLANTED)


def test_score_and_triples_report_the_same_events():
    of_score, of_triples = (
        {(f.event, f.rule, f.severity) for f in orchq.check(path).findings}
        for path in (SCORE, TRIPLES)
    )
    assert of_score == of_triples


def test_no_rule_is_planted_twice():
    rules = [rule for _, _, _, rule, _ in PLANTED]
    assert len(rules) == len(set(rules))
    assert set(rules) <= {rule.slug for rule in orchq.catalogue()}


def test_triples_are_those_of_the_score():
    """Stale? ``orchq export`` the score over them, then ``turtlefmt`` them."""
    exported = Graph().parse(data=orchq.export(SCORE), format="turtle")
    assert isomorphic(exported, Graph().parse(TRIPLES, format="turtle"))


def test_reader_knows_all_that_is_printed():
    score = orchq.read(SCORE)
    assert score.remarks == ()
    assert [(part.name, part.players) for part in score.parts] == [
        ("Violins I", 8),
        ("Violins II", 6),
        ("Violas", 5),
        ("Cellos", 4),
        ("Double Basses", 2),
    ]
    for part in score.parts:
        assert part.section
        assert all(mark.directives or mark.signature is not None for mark in part.marks)


# What follows is seen by music21, a reader that is not ours.


@pytest.fixture(scope="module")
def elsewhere() -> music21.stream.Score:
    return music21.converter.parse(SCORE, forceSource=True)


def test_every_measure_is_full(elsewhere):
    assert len(elsewhere.parts) == 5
    for part in elsewhere.parts:
        pickup, *measures = list(part.getElementsByClass(music21.stream.Measure))
        assert (pickup.number, pickup.highestTime) == (0, 1)
        assert [measure.number for measure in measures] == list(range(1, 41))
        for measure in measures:
            beats = 3 if 9 <= measure.number <= 20 else 4
            assert measure.barDuration.quarterLength == beats
            assert measure.highestTime == beats


def test_pitches_are_those_that_music21_reads(elsewhere):
    for ours, theirs in zip(
        orchq.read(SCORE).parts, elsewhere.toSoundingPitch().parts, strict=True
    ):
        assert sorted(
            (event.onset, event.grace, note.pitch.midi)
            for event in ours.events
            for note in event.notes
        ) == sorted(
            (Fraction(chord.offset), chord.duration.isGrace, pitch.midi)
            for chord in theirs.flatten().notes
            for pitch in chord.pitches
        )
