"""Measures, voices, barlines: where things stand in time."""

from fractions import Fraction

import pytest


def backup(duration: int) -> str:
    return f"<backup><duration>{duration}</duration></backup>"


def forward(duration: int) -> str:
    return f"<forward><duration>{duration}</duration></forward>"


def rest(duration: int) -> str:
    return f"<note><rest/><duration>{duration}</duration></note>"


def time(beats: str, beat_type: str = "4") -> str:
    return (
        f"<attributes><time><beats>{beats}</beats><beat-type>{beat_type}</beat-type></time>"
        "</attributes>"
    )


def test_voices_on_one_staff_are_ordered_in_time(part, note):
    read = part(
        note("A4", 8)
        + note("B4", 8)
        + backup(16)
        + forward(4)
        + note("D4", 4, "<voice>2</voice>")
        + note("E4", 8, "<voice>2</voice>")
    )
    assert [(event.offset, event.voice) for event in read.events] == [
        (0, "1"),
        (1, "2"),
        (2, "1"),
        (2, "2"),
    ]
    assert read.measures[0].length == 4


def test_two_staves_of_one_part(part, note):
    read = part(
        note("A4", 16, "<voice>1</voice><staff>1</staff>")
        + backup(16)
        + note("D4", 16, "<voice>5</voice><staff>2</staff>")
    )
    assert [(event.staff, event.voice) for event in read.events] == [(1, "1"), (2, "5")]


def test_onsets_count_from_the_start_of_the_part(part, note):
    read = part(note("A4", 16), rest(4) + note("A4", 12), note("A4", 16))
    assert [event.onset for event in read.events] == [0, 5, 8]
    assert [(m.index, m.onset, m.length) for m in read.measures] == [
        (0, 0, 4),
        (1, 4, 4),
        (2, 8, 4),
    ]


def test_divisions_may_change_in_the_middle_of_a_measure(part, note):
    finer = "<attributes><divisions>6</divisions></attributes>"
    read = part(note("A4", 4) + finer + note("B4", 2) + note("C5", 4) + backup(12) + note("D4", 6))
    assert [(event.offset, event.duration) for event in read.events] == [
        (0, 1),
        (0, 1),
        (1, Fraction(1, 3)),
        (Fraction(4, 3), Fraction(2, 3)),
    ]


def test_decimal_divisions(read, document, note):
    attributes = "<attributes><divisions>0.5</divisions></attributes>"
    music = f'<measure number="1">{attributes}{note("A4", 1)}</measure>'
    score = read(document(("Violin", music.replace(">1</duration>", ">0.5</duration>"))))
    assert score.parts[0].events[0].duration == 1


def test_without_divisions_a_duration_counts_quarters_and_this_is_said(read, document, note):
    music = f'<measure number="1"><barline location="left"/>{note("A4", 3)}</measure>'
    score = read(document(("Violin", music)))
    assert score.parts[0].events[0].duration == 3
    assert len(score.remarks) == 1


def test_empty_measure_lasts_as_its_signature_says(part, note):
    read = part(time("3"), "<print/>", time("3+2", "8") + "<print/>", note("A4", 4))
    assert [measure.length for measure in read.measures] == [3, 3, Fraction(5, 2), 1]
    assert [(m.beats, m.beat_type) for m in read.measures[1:3]] == [(3, 4), (5, 8)]


@pytest.mark.parametrize(
    ("signature", "expected"),
    [
        ("<beats>3</beats><beat-type>8</beat-type><beats>2</beats><beat-type>4</beat-type>",
         (Fraction(7, 2), None, None)),
        ("<senza-misura/>", (0, None, None)),
        ("<beats>many</beats><beat-type>4</beat-type>", (0, None, None)),
        ("<beats>4</beats><beat-type>0</beat-type>", (0, None, None)),
    ],
)  # fmt: skip
def test_unusual_signatures(read, document, signature, expected):
    music = f'<measure number="1"><attributes><time>{signature}</time></attributes></measure>'
    measure = read(document(("Violin", music))).parts[0].measures[0]
    assert (measure.length, measure.beats, measure.beat_type) == expected


def test_printed_numbers_and_pickup(read, document, note):
    music = (
        f'<measure number="0" implicit="yes">{note("A4", 1)}</measure>'
        f'<measure number="1">{note("A4", 4)}</measure>'
        f'<measure number="X1">{note("A4", 4)}</measure>'
        f"<measure>{note('A4', 4)}</measure>"
    )
    measures = read(document(("Violin", music))).parts[0].measures
    assert [(m.number, m.implicit) for m in measures] == [
        ("0", True),
        ("1", False),
        ("X1", False),
        ("4", False),
    ]
    assert [m.onset for m in measures] == [0, 1, 5, 9]


def test_backup_beyond_the_barline_stops_there(part, note):
    read = part(note("A4", 4) + backup(99) + note("D4", 4, "<voice>2</voice>"))
    assert [event.offset for event in read.events] == [0, 0]


# ---------------------------------------------------------------------------- barlines


def barline(content: str, location: str = "right") -> str:
    return f'<barline location="{location}">{content}</barline>'


FINAL = "<bar-style>light-heavy</bar-style>"


def test_repeats_endings_and_final_barline(part, note, slugs):
    read = part(
        barline('<bar-style>heavy-light</bar-style><repeat direction="forward"/>', "left")
        + note("A4", 16),
        barline('<ending number="1" type="start"/>', "left")
        + note("A4", 16)
        + barline(FINAL + '<ending number="1" type="stop"/><repeat direction="backward"/>'),
        barline('<ending number="2" type="start">2nd time</ending>', "left")
        + note("A4", 16)
        + barline(FINAL + '<ending number="2" type="discontinue"/>'),
    )
    assert [(slugs(m), m.measure_index, m.offset, m.text) for m in read.marks] == [
        (["repeat-start"], 0, 0, ""),
        (["ending"], 1, 0, "1"),
        (["repeat-end"], 1, 4, ""),
        (["ending"], 2, 0, "2nd time"),
        (["final-barline"], 2, 4, ""),
    ]


def test_a_double_barline(part, note, slugs):
    style = barline("<bar-style>light-light</bar-style>")
    read = part(note("A4", 16) + style, note("A4", 16))
    assert [(slugs(m), m.onset) for m in read.marks] == [(["double-barline"], 4)]


def test_a_new_movement_begins_where_the_numbers_do(read, document, note, slugs):
    slur = '<notations><slur type="start"/></notations>'
    music = (
        f'<measure number="7">{note("A4", 4)}</measure>'
        f'<measure number="8">{note("A4", 4, slur)}</measure>'
        f'<measure number="1">{note("A4", 4, slur.replace("start", "stop"))}</measure>'
        f'<measure number="2">{note("A4", 4)}{barline(FINAL)}</measure>'
        f'<measure number="1">{note("A4", 4)}</measure>'
    )
    part = read(document(("Violin", music))).parts[0]
    assert [(slugs(m), m.measure_index) for m in part.marks] == [
        (["final-barline"], 1),
        (["final-barline"], 3),
    ]
    assert part.slurs == ()
    assert len({mark.iri for mark in part.marks}) == 2


# ------------------------------------------------------------------- one time for all


def test_barlines_of_all_parts_fall_together(read, document, note, direction):
    attributes = "<attributes><divisions>4</divisions></attributes>"
    wedge = direction('<wedge type="crescendo"/>')
    stop = direction('<wedge type="stop"/>')
    short = (
        f'<measure number="1">{attributes}{note("A4", 12)}</measure>'
        f'<measure number="2">{wedge}{note("A4", 16)}{stop}</measure>'
        f'<measure number="3">{direction("<words>arco</words>")}{note("A4", 16)}</measure>'
    )
    full = (
        f'<measure number="1">{attributes}{note("A4", 16)}</measure>'
        f'<measure number="2">{note("A4", 16)}</measure>'
        f'<measure number="3">{note("A4", 20)}</measure>'
    )
    score = read(document(("Violin", short), ("Viola", full)))
    first, second = score.parts
    assert [m.onset for m in first.measures] == [m.onset for m in second.measures] == [0, 4, 8]
    assert [m.length for m in first.measures] == [4, 4, 5]
    assert [event.onset for event in first.events] == [0, 4, 8]
    assert [mark.onset for mark in first.marks] == [8]
    assert [(h.onset, h.end) for h in first.hairpins] == [(4, 8)]
    assert len(score.remarks) == 1
