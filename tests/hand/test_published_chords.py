"""The shapes that Berlioz and Tavan print, against their own verdicts.

The weights of the effort were placed with these shapes in view, so the agreement shows that one
model can say what both authors say, not how it does on shapes it has not seen.
"""

from collections.abc import Callable

from orchq.derive.hand import Grade, HandModel, Playing, solve
from orchq.notation import Pitch

Table = Callable[[str], list[dict[str, str]]]

# Where the solver and the author part, with the reason.
DISAGREEMENTS = {
    ("C#4-A4-E5-A5", "struck", "nearly impossible"): (
        "hard",
        (
            "the open E string sounds E5 and the fourth finger takes A5 on the A string; Berlioz "
            "thinks of a finger that must serve both outer strings"
        ),
    ),
    ("F5-F#5", "struck", "good"): (
        "hard",
        ("a stretched hand in second position; the transcription of this dyad is doubtful"),
    ),
    ("D#4-G#4", "struck", "hard"): (
        "good",
        (
            "the same shape a fifth higher, Bb4-Eb5, is in Tavan's large print; one hand model "
            "cannot part them"
        ),
    ),
    ("D4-G#4", "struck", "hard"): (
        "good",
        (
            "fourth and third finger in their first-position places a semitone apart; Tavan leaves "
            "it unmarked and calls the unmarked ones more difficult"
        ),
    ),
    ("A4-Eb5", "struck", "hard"): ("good", "the same shape as D4-G#4, on the middle strings"),
    ("E4-A#4", "struck", "hard"): (
        "good",
        (
            "usable in fifth position, where no finger has to give way to its neighbour; Tavan "
            "looks at the first position"
        ),
    ),
    ("F#4-C5", "struck", "hard"): ("good", "as E4-A#4, on the two lowest strings"),
    ("Bb4-E5", "struck", "hard"): (
        "good",
        ("the first finger beside the open E string; unmarked in Tavan's list"),
    ),
}

# Tavan prints these thirds small, as less used; Forsyth, Orchestration, p. 317, calls major and
# minor thirds without an open string quite easy. Whoever grants a shape may be followed.
AUTHORS_DIFFER = {"D#4-F#4", "E4-G4", "E4-G#4", "Bb4-D5", "B4-D5"}


def _scale(playing: Playing) -> str:
    if playing.grade <= Grade.USABLE:
        return "good"
    return "hard" if playing.grade == Grade.HARD else "nearly impossible"


def _verdicts(
    table: Table, models: dict[str, HandModel]
) -> list[tuple[int, str, str, str, Playing]]:
    """Row, chord, manner, the author's verdict, and what the solver makes of it."""
    found = []
    for row, line in enumerate(table("published_chords.csv")):
        for chord in line["chord"].split("|"):
            pitches = [Pitch.parse(name).midi for name in chord.split("-")]
            stop = solve(pitches, models[line["instrument"]])
            for manner, playing in (("struck", stop.struck), ("broken", stop.broken)):
                if line[manner]:
                    found.append((row, chord, manner, line[manner], playing))
    return found


def test_the_table_is_complete(table: Table) -> None:
    rows = table("published_chords.csv")
    assert len(rows) == 129
    assert all(row["struck"] or row["broken"] for row in rows)


def test_nothing_an_author_calls_good_is_impractical(
    table: Table, models: dict[str, HandModel]
) -> None:
    for _, chord, manner, verdict, playing in _verdicts(table, models):
        if verdict == "good":
            assert playing.grade < Grade.IMPRACTICAL, (chord, manner, playing.reason)


def test_nine_shapes_in_ten_agree(table: Table, models: dict[str, HandModel]) -> None:
    verdicts = _verdicts(table, models)
    rows = {row for row, *_ in verdicts}
    missed = {
        row
        for row, chord, _, verdict, playing in verdicts
        if _scale(playing) != verdict and chord not in AUTHORS_DIFFER
    }
    assert len(rows) == 129
    assert 1 - len(missed) / len(rows) >= 0.9


def test_disagreements_are_these(table: Table, models: dict[str, HandModel]) -> None:
    found = {
        (chord, manner, verdict): _scale(playing)
        for _, chord, manner, verdict, playing in _verdicts(table, models)
        if _scale(playing) != verdict and chord not in AUTHORS_DIFFER
    }
    assert found == {shape: scale for shape, (scale, _) in DISAGREEMENTS.items()}


def test_thirds_over_which_authors_differ_are_usable(
    table: Table, models: dict[str, HandModel]
) -> None:
    found = {
        chord: _scale(playing)
        for _, chord, _, _, playing in _verdicts(table, models)
        if chord in AUTHORS_DIFFER
    }
    assert found == dict.fromkeys(AUTHORS_DIFFER, "good")
