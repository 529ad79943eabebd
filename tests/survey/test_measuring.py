"""Rows of every table, each counted by hand in the scores of ``conftest``."""

import pytest
from msgspec.structs import asdict, fields

from orchq.derive.clock import tempo_bands
from orchq.derive.hand import stop_mm
from orchq.survey.rows import TABLES, RowPlace
from orchq.terms import oq

from .conftest import ASSUMED, EIGHTH, KNOWLEDGE, UNKNOWN, document, heads, line, loud, words

VIOLIN = {"part": "Violin", "part_index": 0, "instrument": "violin", "setting": "solo"}
VIOLAS = {"part": "Violas", "part_index": 1, "instrument": "viola", "setting": "section"}


def place(part, measure, beat):
    """The values of a place in the marked score; the printed number is one more than the index."""
    where = {"measure": str(measure), "measure_index": measure - 1, "beat": beat}
    return {"work": "a/piece.musicxml", **part, **where}


def told(rows):
    return [asdict(row) for row in rows]


def seconds(of):
    return {"seconds": of, "tempo": "marked"}


def test_every_table_has_its_rows(marked):
    assert list(marked) == list(TABLES)
    for name, rows in marked.items():
        assert rows, name
        assert {type(row) for row in rows} == {TABLES[name]}


def test_a_work(marked):
    assert told(marked["works"]) == [
        {
            "work": "a/piece.musicxml",
            "composer": "evora",
            "composer_name": "Jos\u00e9 d\u2019\u00c9vora",
            "title": "Trifles, Op. 7",
            "movement": "2. Night",
            "collection": "few",
            "notes": 38,
            "parts": 2,
            "tempo": "marked",
        }
    ]


def test_a_score_that_names_nobody_is_by_whom_its_folder_names(rows_of):
    (work,) = rows_of(UNKNOWN)["works"]
    assert (work.composer, work.composer_name, work.title) == ("bach", "Bach, J. S.", "piece")


def test_pitches(marked):
    counts = {
        (row.instrument, row.setting, row.way, row.pitch): row.notes for row in marked["pitches"]
    }
    assert counts["violin", "solo", "arco", "A4"] == 5
    assert counts["violin", "solo", "pizzicato", "A4"] == 1
    assert counts["violin", "solo", "harmonic", "A5"] == 1
    assert counts["viola", "section", "arco", "C4"] == 2
    assert sum(counts.values()) == 38
    (lowest,) = (row for row in marked["pitches"] if row.pitch == "G3")
    assert asdict(lowest) == {
        **place(VIOLIN, 4, 1.0),
        "way": "arco",
        "midi": 55,
        "pitch": "G3",
        "notes": 2,
    }


def test_passages(marked):
    assert told(marked["passages"]) == [
        {**at, "technique": technique, "dynamic": dynamic, "rank": rank, "notes": notes, **time,
         "text": text}
        for at, technique, dynamic, rank, notes, time, text in (
            (place(VIOLIN, 1, 1.0), "arco", "p", 4, 4, seconds(4.0), ""),
            (place(VIOLIN, 1, 1.0), "sul-ponticello", "p", 4, 4, seconds(4.0), "sul pont."),
            (place(VIOLIN, 2, 1.0), "arco", "f", 7, 8, seconds(4.0), ""),
            (place(VIOLIN, 3, 1.0), "pizzicato", "f", 7, 4, seconds(4.0), "pizz."),
            (place(VIOLIN, 4, 1.0), "arco", "f", 7, 16, seconds(24.0), "arco"),
            (place(VIOLIN, 4, 3.0), "natural-harmonic", "f", 7, 1, seconds(2.0), ""),
            (place(VIOLIN, 5, 1.0), "tremolo-unmeasured", "f", 7, 1, seconds(4.0), ""),
            (place(VIOLIN, 9, 3.0), "con-sordino", "f", 7, 1, seconds(2.0), "con sord."),
            (place(VIOLAS, 1, 1.0), "arco", "", None, 6, seconds(8.0), ""),
        )
    ]  # fmt: skip


def test_a_movement_ends_every_passage(rows_of):
    end = "<barline><bar-style>light-heavy</bar-style></barline>"
    music = (loud("p") + line("G4 A4", EIGHTH), end, loud("p") + line("G4 A4 B4", EIGHTH))
    joined = rows_of(document({"Viola": (music[0], music[2])}))["passages"]
    parted = rows_of(document({"Viola": (music[0] + end, music[2])}))["passages"]
    assert [row.notes for row in joined] == [5]
    assert [row.notes for row in parted] == [2, 3]


def test_runs(marked):
    assert told(marked["runs"]) == [
        {
            **at,
            "stroke": stroke,
            "dynamic": "f",
            "rank": 7,
            "notes": notes,
            "notes_per_second": rate,
            **time,
        }
        for at, stroke, notes, rate, time in (
            (place(VIOLIN, 2, 1.0), "detache", 8, 2.0, seconds(3.5)),
            (place(VIOLIN, 3, 1.0), "pizzicato", 4, 1.0, seconds(3.0)),
        )
    ]


def test_changes(marked):
    assert told(marked["changes"]) == [
        {**at, "kind": kind, "before": before, "into": into, "beats": beats, **seconds(beats)}
        for at, kind, before, into, beats in (
            (place(VIOLIN, 3, 1.0), "pluck-bow", "arco", "pizzicato", 0.5),
            (place(VIOLIN, 4, 1.0), "pluck-bow", "pizzicato", "arco", 1.0),
            (place(VIOLIN, 6, 1.0), "string-call", "", "on-g-string", 4.0),
            (place(VIOLIN, 9, 3.0), "mute", "senza-sordino", "con-sordino", 2.0),
        )
    ]


def test_a_bow_that_is_taken_anew_is_a_change(rows_of):
    down = "<technical><down-bow/></technical>"
    music = heads("A4", 4, notations=down) + heads("B4", 4, notations=down)
    (row,) = rows_of(document({"Violin": (music,)}))["changes"]
    assert (row.kind, row.before, row.into) == ("bow-return", "down-bow", "down-bow")
    assert (row.beat, row.beats, row.seconds, row.tempo) == (2.0, 1.0, None, "none")


def test_slurs(marked):
    assert told(marked["slurs"]) == [
        {
            **place(VIOLIN, 1, 1.0),
            "stroke": "legato",
            "dynamic": "p",
            "rank": 4,
            "notes": 2,
            **seconds(2.0),
        }
    ]


@pytest.mark.parametrize(
    ("signs", "stroke"),
    [
        (("staccato", "staccato"), "slurred-staccato"),
        (("tenuto", "tenuto"), "portato"),
        (("detached-legato", "detached-legato"), "portato"),
        (("staccato", "accent"), "legato"),
    ],
)
def test_signs_over_every_note_of_a_slur_name_its_stroke(signs, stroke, rows_of):
    first, last = (f"<articulations><{sign}/></articulations>" for sign in signs)
    music = heads("A4", 4, slur="start", notations=first)
    music += heads("B4", 4, slur="stop", notations=last)
    (row,) = rows_of(document({"Violin": (music,)}))["slurs"]
    assert (row.stroke, row.notes) == (stroke, 2)


def test_stops(marked):
    forte, silent = {"dynamic": "f", "rank": 7}, {"dynamic": "", "rank": None}
    assert told(marked["stops"]) == [
        {**at, "pitches": pitches, "intervals": "7", "struck": True, "bowed": True,
         "shared": shared, **dynamic, "grade": grade, **time}
        for at, pitches, shared, dynamic, grade, time in (
            (place(VIOLIN, 4, 1.0), "G3 D4", False, forte, "easy", seconds(2.0)),
            (place(VIOLIN, 8, 1.0), "G3 D4", False, forte, "easy", seconds(1.0)),
            (place(VIOLIN, 8, 2.0), "A3 E4", False, forte, "usable", seconds(1.0)),
            (place(VIOLIN, 8, 3.0), "B3 F#4", False, forte, "usable", seconds(1.0)),
            (place(VIOLIN, 8, 4.0), "C4 G4", False, forte, "usable", seconds(3.0)),
            (place(VIOLAS, 2, 1.0), "C4 G4", True, silent, "usable", seconds(4.0)),
        )
    ]  # fmt: skip


def test_a_chord_under_an_arpeggio_sign_is_broken(rows_of):
    music = heads("G3 D4 B4 G5", 16, notations="<arpeggiate/>")
    (row,) = rows_of(document({"Violin": (music,)}))["stops"]
    assert (row.pitches, row.intervals, row.struck) == ("G3 D4 B4 G5", "7 9 8", False)


def test_harmonics(marked):
    assert told(marked["harmonics"]) == [
        {
            **place(VIOLIN, 4, 3.0),
            "kind": "natural",
            "string": 2,
            "node": 2,
            "sounding": "A5",
            "touched": "A5",
        }
    ]


def test_divisi(marked):
    assert told(marked["divisi"]) == [{**place(VIOLAS, 1, 1.0), "parts": 2, "events": 2}]


def test_tremolos(marked):
    assert told(marked["tremolos"]) == [
        {**place(VIOLIN, 5, 1.0), "technique": "tremolo-unmeasured", "notes": 1, **seconds(4.0)}
    ]


def test_words(marked):
    assert told(marked["words"]) == [
        {**at, "text": text, "directives": directives, "unknown": unknown, "count": 1,
         "technique_words": playing}
        for at, text, directives, unknown, playing in (
            (place(VIOLIN, 1, 1.0), "sul pont.", "sul-ponticello", "", True),
            (place(VIOLIN, 2, 1.0), "ord.", "ordinario", "", True),
            (place(VIOLIN, 3, 1.0), "pizz.", "pizzicato", "", True),
            (place(VIOLIN, 4, 1.0), "arco", "arco", "", True),
            (place(VIOLIN, 6, 1.0), "sul G", "on-g-string", "", True),
            (place(VIOLIN, 9, 1.0), "Fine della parte", "", "fine della", False),
            (place(VIOLIN, 9, 3.0), "con sord.", "con-sordino", "", True),
            (place(VIOLIN, 9, 3.0), "sul crusto", "", "sul crusto", True),
            (place(VIOLAS, 1, 1.0), "div.", "divisi", "", True),
            (place(VIOLAS, 2, 1.0), "unis.", "unison", "", True),
        )
    ]  # fmt: skip


def test_words_are_counted_over_all_parts(rows_of):
    once = words("trem.") + line("A4", EIGHTH) + words("trem.") + line("A4", EIGHTH)
    rows = rows_of(document({"Violin": (once,), "Viola": (once,)}))["words"]
    assert [(row.text, row.count, row.part) for row in rows] == [("trem.", 4, "Violin")]


@pytest.mark.parametrize("printed", ["2", "0, 1", "mf"])
def test_figures_and_signs_of_loudness_are_no_words(rows_of, printed):
    rows = rows_of(document({"Violin": (words(printed) + line("A4", EIGHTH),)}))["words"]
    assert not rows


@pytest.mark.parametrize(
    ("printed", "playing"),
    [("III. Scherzo", False), ("dolce", False), ("non legato", True), ("col punta d'arco", True)],
)
def test_words_for_playing_are_told_from_others(rows_of, printed, playing):
    (row,) = rows_of(document({"Violin": (words(printed) + line("A4", EIGHTH),)}))["words"]
    assert row.technique_words is playing


def test_notes_under_a_mere_word_for_harmonics_are_counted(rows_of):
    rows = rows_of(document({"Cello": (words("Harmonic") + line("C3 D3", EIGHTH),)}))
    assert {row.pitch for row in rows["pitches"]} == {"C3", "D3"}
    assert not rows["harmonics"]


def test_leaps(marked):
    (row,) = marked["leaps"]
    assert (row.measure, row.beat, row.seconds, row.tempo) == ("7", 2.0, 1.0, "marked")
    # From the first semitone of the G string to two octaves up the E string, less by what a hand
    # reaches without moving: a string of a violin is about 328 mm long (from memory).
    way = stop_mm(328, 24) - stop_mm(328, 1)
    assert way - 140 < row.travel_speed < way - 60


def test_runs_of_double_stops(marked):
    assert told(marked["double_stop_runs"]) == [
        {**place(VIOLIN, 8, 1.0), "stops": 4, "stops_per_second": 1.0, **seconds(3.0)}
    ]


def test_an_assumed_tempo_is_told_and_its_slow_end_counts(rows_of):
    rows = rows_of(ASSUMED)
    (run,) = rows["runs"]
    slowest = tempo_bands(KNOWLEDGE)[oq("tempo-adagio").value].slowest
    assert (run.tempo, run.notes) == ("assumed", 8)
    assert run.seconds == pytest.approx(float(3.5 * 60 / slowest), abs=1e-4)
    assert run.notes_per_second == pytest.approx(7 / run.seconds, abs=1e-4)
    assert rows["works"][0].tempo == "assumed"


def test_without_a_tempo_there_are_no_seconds(rows_of):
    rows = rows_of(UNKNOWN)
    (run,) = rows["runs"]
    assert (run.tempo, run.notes, run.seconds, run.notes_per_second) == ("none", 8, None, None)
    assert rows["works"][0].tempo == "none"


def test_other_instruments_and_cues_are_left_out(rows_of):
    cue = "<note><cue/><pitch><step>E</step><octave>7</octave></pitch><duration>4</duration></note>"
    rows = rows_of(document({"Flute": (line("C6", 4),), "Violin": (line("A4", 4) + cue,)}))
    assert [(row.part, row.pitch, row.notes) for row in rows["pitches"]] == [("Violin", "A4", 1)]
    assert rows["works"][0].notes == 1


def test_every_row_but_a_work_begins_with_its_place():
    first = [field.name for field in fields(RowPlace)]
    for name, kind in TABLES.items():
        names = [field.name for field in fields(kind)]
        assert names[: len(first)] == first or name == "works"
