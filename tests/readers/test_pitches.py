"""What is written and what sounds."""

import pytest

from orchq import check
from orchq.errors import ReadError


def transpose(chromatic: str, diatonic: str | None = None, octaves: int | None = None) -> str:
    steps = "" if diatonic is None else f"<diatonic>{diatonic}</diatonic>"
    change = "" if octaves is None else f"<octave-change>{octaves}</octave-change>"
    return (
        f"<attributes><transpose>{steps}<chromatic>{chromatic}</chromatic>{change}</transpose>"
        "</attributes>"
    )


def names(part):
    return [str(head.pitch) for event in part.events for head in event.notes]


@pytest.mark.parametrize(
    ("attributes", "written", "sounding"),
    [
        (transpose("-2", "-1"), "C4", "Bb3"),
        (transpose("-3", "-2"), "Eb5", "C5"),
        (transpose("0", "0", -1), "Bb3", "Bb2"),
        (transpose("2", "1", -1), "B4", "C#4"),
        (transpose("-2"), "C#4", "B3"),
        (transpose("0"), "Eb4", "Eb4"),
    ],
)
def test_transposition_keeps_the_spelling(part, note, attributes, written, sounding):
    assert names(part(attributes + note(written, 16))) == [sounding]


def test_transposition_may_change(part, note):
    read = part(note("A4", 8) + transpose("0", "0", 1) + note("A4", 8))
    assert names(read) == ["A4", "A5"]


def test_octave_sign_changes_nothing(part, note, direction):
    sign = direction('<octave-shift type="down" size="8"/>')
    assert names(part(sign + note("A6", 16))) == ["A6"]


@pytest.mark.parametrize(
    ("alter", "sounding", "remarked"),
    [
        ("1", "F#4", False),
        ("-2", "Fbb4", False),
        (" 0 ", "F4", False),
        ("", "F4", False),
        ("0.5", "F4", True),
        ("-1.5", "Fb4", True),
        ("0.75", "F#4", True),
        ("7.5", "C5", True),
    ],
)
def test_microtones_are_rounded_and_said_to_be(read, document, note, alter, sounding, remarked):
    altered = note("F4", 4).replace("</step>", f"</step><alter>{alter}</alter>")
    score = read(document(("Viola", f'<measure number="1">{altered}{altered}</measure>')))
    assert names(score.parts[0]) == [sounding] * 2
    assert any("microtones" in remark for remark in score.remarks) is remarked


@pytest.mark.parametrize("times", [1, 2])
def test_a_microtone_is_remarked_once_and_counted(read, document, note, times):
    """A viola has no frets of which to speak."""
    altered = note("F4", 4).replace("</step>", "</step><alter>0.5</alter>")
    score = read(document(("Viola", f'<measure number="1">{altered * times}</measure>')))
    count = " (2 times in all)" if times == 2 else ""
    sentence = f"Viola, measure 1: microtones are rounded to the nearest semitone{count}"
    assert [remark for remark in score.remarks if "micro" in remark] == [sentence]


def test_which_parts_are_checked(document, note, tmp_path):
    path = tmp_path / "two.musicxml"
    bar = f'<measure number="1">{note("F4", 4)}</measure>'
    path.write_text(document(("Viola", bar), ("Oboe", bar)), encoding="utf-8")
    report = check(path, advice=False)
    assert [(part.instrument, part.checked) for part in report.parts] == [
        ("viola", True), (None, False),
    ]  # fmt: skip


# ------------------------------------------------------------ double basses without <transpose>


def bass(music: str) -> tuple[str, str]:
    return ("Contrabass", f'<measure number="1">{music}</measure>')


@pytest.mark.parametrize(
    ("clef", "pitches", "sounding"),
    [
        ("", ["E2", "G3"], ["E1", "G2"]),
        ("", ["B1"], ["B0"]),  # the fifth string, written an octave higher
        ("", ["E1", "G2"], ["E1", "G2"]),  # too deep to be written an octave higher
        ("<clef-octave-change>-1</clef-octave-change>", ["E2"], ["E2"]),
    ],
)
def test_bass_is_read_in_its_usual_octave_unless_the_page_speaks_against_it(
    read, document, note, clef, pitches, sounding
):
    attributes = f"<attributes><clef><sign>F</sign><line>4</line>{clef}</clef></attributes>"
    music = attributes + "".join(note(pitch, 4) for pitch in pitches)
    score = read(document(bass(music)))
    assert names(score.parts[0]) == sounding
    assert any("<transpose>" in remark for remark in score.remarks)


@pytest.mark.parametrize(
    ("chromatic", "diatonic", "sounding"),
    [
        ("0", None, "Fb3"),  # an octave is no change of letter, stated or not
        ("0", "0", "Fb3"),
        ("0", "-1", "E3"),  # the same pitch by another letter
        ("-1", None, "Eb3"),
    ],
)
def test_the_letter_goes_with_the_transposition(
    read, document, note, chromatic, diatonic, sounding
):
    flat = note("F4", 4).replace("</step>", "</step><alter>-1</alter>")
    score = read(document(bass(transpose(chromatic, diatonic, -1) + flat)))
    assert names(score.parts[0]) == [sounding]


@pytest.mark.parametrize("octaves", [0, -1])
def test_bass_with_transposition_is_taken_at_its_word(read, document, note, octaves):
    score = read(document(bass(transpose("0", "0", octaves) + note("E3", 4))))
    assert names(score.parts[0]) == [f"E{3 + octaves}"]
    assert not any("octave" in remark for remark in score.remarks)


# ------------------------------------------------------------------------------- faults


@pytest.mark.parametrize(
    "broken",
    [
        "<step>H</step><octave>4</octave>",
        "<step></step><octave>4</octave>",
        "<octave>4</octave>",
        "<step>A</step>",
        "<step>A</step><octave>four</octave>",
        "<step>A</step><octave>40</octave>",
        "<step>A</step><octave>11</octave>",
        "<step>A</step><alter>sharp</alter><octave>4</octave>",
        "<step>A</step><alter>NaN</alter><octave>4</octave>",
        "<step>A</step><alter>100</alter><octave>4</octave>",
    ],
)
def test_pitch_that_is_none_names_the_line(read, document, broken):
    broken_note = f"\n\n<note><pitch>{broken}</pitch><duration>4</duration></note>"
    with pytest.raises(ReadError, match=r"score\.musicxml:3: "):
        read(document(("Violin", f'<measure number="1">{broken_note}</measure>')))


def test_transposition_beyond_all_instruments(read, document, note):
    with pytest.raises(ReadError, match=r":1: .*transpose"):
        read(document(bass(transpose("0", "0", 9) + note("E3", 4))))
