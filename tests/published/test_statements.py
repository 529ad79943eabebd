"""Statements of published handbooks, put to the checker as a reader of them would.

Each test names its source. Statements about the hand alone are in ``tests/hand``. Three of the
statements collected for this project are not tests: Berlioz (djvu/63) on which runs lie well on
the double bass, twice, since no run of single notes is fingered here; and his advice (djvu/36)
to avoid a forte pizzicato at the extremes, since he names no pitches.
"""

from collections.abc import Sequence
from fractions import Fraction

import pytest

from orchq import load
from orchq.notation import Pitch
from orchq.rules.checking import check_score
from orchq.score import Event, Mark, Note, Part, Score
from orchq.terms import oq

KNOWLEDGE = load()


def told(
    instrument: str,
    chords: Sequence[str],
    words: Sequence[str] = (),
    *,
    quarters: int = 1,
    players: int = 1,
    signs: Sequence[str] = (),
    signature: int | None = None,
    later: Sequence[str] = (),
) -> set[tuple[str, str]]:
    """What the checker says, as (rule, severity), of chords played one after another.

    ``words`` stand at the start, ``later`` at the second chord; ``signs`` at every chord.
    """
    events = tuple(
        Event(
            iri=f"x:e{number}",
            measure_index=number,
            measure_number=str(number + 1),
            offset=Fraction(0),
            onset=Fraction(4 * number),
            duration=Fraction(quarters),
            notes=tuple(
                Note(f"x:e{number}n{n}", Pitch.parse(name))
                for n, name in enumerate(chord.split("-"))
            ),
            marks=frozenset(oq(sign).value for sign in signs),
        )
        for number, chord in enumerate(chords)
    )
    marks = [
        Mark(
            iri=f"x:m{onset}{word}",
            measure_index=0,
            measure_number="1",
            offset=Fraction(0),
            onset=Fraction(onset),
            directives=(oq(word).value,) if word else (),
            signature=None if word else signature,
        )
        for onset, printed in ((0, words), (4, later))
        for word in printed
    ]
    if signature is not None:
        marks.append(Mark("x:key", 0, "1", Fraction(0), Fraction(0), signature=signature))
    part = Part(
        iri="x:part",
        id="P1",
        index=0,
        name=instrument,
        instrument=oq(instrument).value,
        section=players > 1,
        players=players,
        events=events,
        marks=tuple(marks),
    )
    report = check_score(Score("x:score", "", (part,)), KNOWLEDGE, file="statement")
    return {(finding.rule, finding.severity) for finding in report.findings}


@pytest.mark.parametrize("quarters", [2, 4])
def test_three_notes_are_not_held(quarters: int) -> None:
    """Tavan, Méthode pratique d'orchestration symphonique, djvu/13; Rimsky-Korsakov, ch. III.

    Final chords are nevertheless printed so, and players break a loud one as a matter of course
    (common practice): from forte on a remark says so.
    """
    for dynamic, severity in (("mf", "warning"), ("f", "info"), ("ff", "info")):
        assert told("violin", ["G3-D4-B4-G5"], [dynamic], quarters=quarters) == {
            ("chord-held-too-long", severity)
        }
    assert told("violin", ["G3-D4-B4-G5"], ["f"], quarters=1) == set()


@pytest.mark.parametrize("dynamic", ["p", "pp"])
def test_bowed_chords_want_a_forte(dynamic: str) -> None:
    """Rimsky-Korsakov, Principles of Orchestration, ch. III."""
    assert told("violin", ["G3-D4-B4-G5"], [dynamic]) == {("chord-too-soft", "warning")}
    assert told("violin", ["G3-D4-B4-G5"], [dynamic, "pizzicato"]) == set()


def test_the_bass_stops_one_note() -> None:
    """Berlioz, Grand traité d'instrumentation, djvu/62; pitches sounding."""
    assert told("double-bass", ["F1-Bb1"], ["f"]) == {("too-many-notes-stopped", "info")}
    for dyad in ("D2-A2", "D2-B2", "D2-C3", "D2-D3"):
        assert told("double-bass", [dyad], ["ff"]) == set()


def test_artificial_harmonics_of_the_bass_are_disputed() -> None:
    """Berlioz, djvu/62, refuses them; Encyclopaedia Britannica, 14th edition, grants them."""
    assert told("double-bass", ["G2"], ["mf"], signs=["artificial-harmonic"]) >= {
        ("technique-not-on-instrument", "info")
    }


@pytest.mark.parametrize(
    ("pitch", "said"),
    [
        ("C6", set()),
        ("C#6", {("note-above-technique-compass", "info")}),
        ("A6", {("note-above-technique-compass", "warning")}),
    ],
)
def test_violins_pluck_to_c6(pitch: str, said: set[tuple[str, str]]) -> None:
    """Tavan, djvu/14."""
    assert told("violin", [pitch], ["f", "pizzicato"]) == said


@pytest.mark.parametrize(
    ("pitch", "reported"), [("G6", False), ("G#6", True), ("C7", True), ("C#7", True)]
)
def test_first_violins_seldom_go_above_g6(pitch: str, *, reported: bool) -> None:
    """Tavan, djvu/14: G6 is the prudent top. Berlioz, djvu/11: C7 in a good orchestra."""
    said = told("violin", [pitch], ["f"], players=14)
    assert (("note-above-compass", "info") in said) is reported
    assert not {("note-above-compass", "warning"), ("note-above-compass", "violation")} & said


def test_the_cello_s_treble_clef_is_ambiguous_after_the_bass_clef() -> None:
    """Berlioz, djvu/49."""
    chords = ["C3", "E5", "C3"]
    assert told("cello", chords, ["clef-bass"], later=["clef-treble"]) == {
        ("octave-of-treble-clef-in-doubt", "info")
    }
    assert told("cello", chords, ["clef-tenor"], later=["clef-treble"]) == set()


@pytest.mark.parametrize(
    ("signature", "word", "warned"),
    [
        (4, "tempo-allegro", False),
        (5, "tempo-allegro", True),
        (-4, "tempo-presto", False),
        (-5, "tempo-presto", True),
        (-7, "tempo-adagio", False),
    ],
)
def test_quick_music_keeps_to_four_signs(signature: int, word: str, *, warned: bool) -> None:
    """Tavan, djvu/21: not beyond E on the sharp side, A flat on the other, in quick music."""
    said = told("viola", ["D4"], [word], signature=signature)
    assert (("key-too-remote", "info") in said) is warned


@pytest.mark.parametrize("signature", [-8, 9, 10])
def test_impracticable_keys_of_the_violins(signature: int) -> None:
    """Berlioz, djvu/41, on the keys of F flat, D sharp and A sharp."""
    said = told("violin", ["D4"], signature=signature, players=10)
    assert ("key-too-remote", "warning") in said
