"""Published statements about time, put to the checker; each names its source."""

from fractions import Fraction

import pytest

from orchq.rules.checking import check_score
from orchq.score import Score

from .conftest import KNOWLEDGE, make_event, make_mark, make_part


def _told(part):
    report = check_score(Score("x:score", "", (part,)), KNOWLEDGE, file="statement")
    return {(finding.rule, finding.severity) for finding in report.findings}


@pytest.mark.parametrize(
    ("beats", "tempo", "said"),
    [
        (7, 108, {("mute-change-too-quick", "info")}),
        (8, 108, set()),
        (6, 88, {("mute-change-too-quick", "info")}),
        (8, 88, set()),
        # no figure: the band of the word is from memory, and its slow end counts
        (6, None, {("mute-change-too-quick", "info")}),
        (8, None, set()),
    ],
)
def test_the_mute_wants_eight_beats_at_moderato(beats, tempo, said):
    """Berlioz, Grand traité d'instrumentation, djvu/32: about two bars of 4/4 at Moderato.

    The crotchet of Moderato is taken as 88 to 108: 4.4 to 5.5 seconds. Memory grants a rubber mute
    less, so both sides are told.
    """
    first, last = make_event(1, (0, 1, "A4")), make_event(2, (1 + beats, 1, "B4"))
    marks = [make_mark(0, "tempo-moderato", tempo=tempo), make_mark(1 + beats, "con-sordino")]
    assert _told(make_part([first, last], marks)) == said


@pytest.mark.parametrize(
    ("tempo", "said"),
    [
        (79, set()),
        (84, {("pizzicato-too-fast", "info")}),
        (96, {("pizzicato-too-fast", "info")}),
        (120, {("pizzicato-too-fast", "warning")}),
    ],
)
def test_the_cello_plucks_about_six_notes_a_second(tempo, said):
    """Berlioz, djvu/60: 5.3 notes in scales and 5.6 in arpeggios, at assumed tempi.

    Between the two both are told; 6.4 lies near them.
    """
    pitches = ["D3", "E3", "F3", "G3"] * 2
    events = [make_event(n, (Fraction(n, 4), Fraction(1, 4), p)) for n, p in enumerate(pitches)]
    marks = [make_mark(0, "pizzicato", "tempo-allegro", tempo=tempo)]
    assert _told(make_part(events, marks, instrument="cello")) == said


@pytest.mark.parametrize(
    ("upper", "word", "said"),
    [
        ("C#4", "on-g-string", set()),
        ("D4", "on-g-string", set()),
        ("D#4", "on-g-string", {("fingered-tremolo-too-wide", "warning")}),
        ("G4", "on-g-string", {("fingered-tremolo-too-wide", "warning")}),
    ],
)
def test_a_fingered_tremolo_on_one_string_spans_a_fourth(upper, word, said):
    """Berlioz, djvu/27, with the frame of the violin hand by Tavan, djvu/8-9."""
    events = [
        make_event(1, (0, 1, "A3"), "fingered-tremolo"),
        make_event(2, (1, 1, upper), "fingered-tremolo"),
    ]
    assert _told(make_part(events, [make_mark(0, word)])) == said


@pytest.mark.parametrize(("lower", "upper"), [("E4", "C5"), ("E4", "D5")])
def test_over_two_strings_it_spans_a_sixth_or_a_seventh(lower, upper):
    """Berlioz, djvu/27: a minor sixth and a minor seventh, over two strings."""
    events = [
        make_event(1, (0, 1, lower), "fingered-tremolo"),
        make_event(2, (1, 1, upper), "fingered-tremolo"),
    ]
    assert _told(make_part(events)) == set()
