"""Composer, work and movement, as they stand above the music."""

import pytest

from orchq.score import Heading


@pytest.mark.parametrize(
    ("before", "heading"),
    [
        ("", Heading()),
        (
            (
                "<work><work-number>Op. 7</work-number><work-title>Trifles</work-title></work>"
                "<movement-number>2</movement-number><movement-title>Night</movement-title>"
            ),
            Heading(work="Trifles, Op. 7", movement="2. Night"),
        ),
        (
            (
                "<work><work-number>Op. 7</work-number><work-title>Trio, Op. 7</work-title></work>"
                "<movement-number>2</movement-number><movement-title>2. Night</movement-title>"
            ),
            Heading(work="Trio, Op. 7", movement="2. Night"),
        ),
        (
            "<work><work-number>Op. 7</work-number></work><movement-number>2</movement-number>",
            Heading(work="Op. 7", movement="2"),
        ),
        (
            (
                '<identification><creator type="arranger">Somebody</creator><creator>Else</creator>'
                '<creator type="Composer"> J.\n Haydn </creator></identification>'
            ),
            Heading(composer="J. Haydn"),
        ),
        (
            (
                '<identification><creator type="lyricist">Somebody</creator><creator>Else</creator>'
                "</identification>"
            ),
            Heading(composer="Else"),
        ),
    ],
)
def test_a_heading(read, document, note, before, heading):
    music = '<measure number="1">' + note("A4") + "</measure>"
    assert read(document(("Violin", music), before=before)).heading == heading


def test_names_that_music21_makes_up_are_none(read):
    pytest.importorskip("music21")
    kern = '**kern\n*I"Violin\n*clefG2\n*M4/4\n=1\n1g\n==\n*-\n'
    score = read(kern, "tune.krn")
    assert (score.title, score.heading) == ("tune", Heading())
