"""What is printed is obeyed, or the note says that it was not."""

from fractions import Fraction

import pytest

import orchq
from orchq.derive.path import fingering_of
from orchq.readers import read_text
from orchq.report.fingering_report import fingering_json, fingering_text, marked_copy

SCORE = """<?xml version="1.0" encoding="UTF-8"?>
<score-partwise version="4.0">
  <!-- kept as it is -->
  <part-list><score-part id="P1"><part-name>{name}</part-name></score-part></part-list>
  <part id="P1"><measure number="1">
    <attributes><divisions>2</divisions><time><beats>4</beats><beat-type>4</beat-type></time>
      {attributes}</attributes>
{notes}  </measure></part>
</score-partwise>
"""
NOTE = """    {before}<note>{chord}
      <pitch><step>{step}</step>{alter}<octave>{octave}</octave></pitch>
      <duration>2</duration><voice>1</voice><type>quarter</type>{inside}</note>
"""


def note(name, *, inside="", before="", chord=False):
    alter = "<alter>1</alter>" if "#" in name else ""
    return NOTE.format(
        step=name[0],
        alter=alter,
        octave=name[-1],
        inside=inside,
        before=before,
        chord="<chord/>" if chord else "",
    )


def technical(*signs):
    return f"<notations><technical>{''.join(signs)}</technical></notations>"


@pytest.fixture
def fingered(tmp_path, knowledge):
    def make(*notes, name="Violin", attributes=""):
        path = tmp_path / "line.musicxml"
        path.write_text(SCORE.format(name=name, notes="".join(notes), attributes=attributes))
        return path, fingering_of(orchq.read(path, knowledge), knowledge)

    return make


def taken(part):
    return [(each.note.pitch.name, each.string, each.position, each.finger) for each in part.notes]


def test_first_position_is_what_every_tutor_prints(fingered):
    """G major from the open G string: 0 1 2 3 on each of the strings (common practice)."""
    scale = ["G3", "A3", "B3", "C4", "D4", "E4", "F#4", "G4"]
    _, [part] = fingered(*map(note, scale))
    assert [finger for *_, finger in taken(part)] == ["0", "1", "2", "3", "0", "1", "2", "3"]
    assert {position for *_, position, _ in taken(part)} == {0, 1}


def test_printed_finger_and_string_are_obeyed(fingered):
    _, [part] = fingered(
        note("A4", inside=technical("<fingering>3</fingering>")),
        note("B4", inside=technical("<string>3</string>")),
        note("E5", inside=technical("<fingering>1</fingering>", "<string>3</string>")),
    )
    third, second, both = taken(part)
    assert third[3] == "3"
    assert second[1] == 3
    assert both[1:] == (3, 8, "1")
    assert not any(each.departs for each in part.notes)


def test_string_call_is_obeyed_until_it_is_lifted(fingered):
    call = "<direction><direction-type><words>{}</words></direction-type></direction>"
    _, [part] = fingered(
        note("C5", before=call.format("sul G")),
        note("D5"),
        note("E5", before=call.format("loco")),
    )
    strings = [string for _, string, *_ in taken(part)]
    assert strings[:2] == [4, 4]
    assert strings[2] < 4


@pytest.mark.parametrize(("end", "leaves"), [("", True), ("loco", False)])
def test_high_notes_long_after_a_string_call_are_played_where_convenient(fingered, end, leaves):
    call = "<direction><direction-type><words>{}</words></direction-type></direction>"
    bars = [[note("C5", before=call.format("sul G")), *[note("C5")] * 3], [note("D5")] * 4]
    bars += [[note("D5")] * 4, [note("B5"), note("C5"), note("A5"), note("B5")]]
    bars += [[note("E5", before=call.format(end) if end else ""), *[note("D5")] * 3]]
    numbered = (f'</measure><measure number="{i}">' for i in range(2, 6))
    text = "".join("".join(bar) + next(numbered, "") for bar in bars)
    _, [part] = fingered(text)
    strings = [each.string for each in part.notes]
    assert strings[:12] == [4] * 12
    assert [each.departs for each in part.notes[12:16]] == [leaves] * 4
    assert all((string < 4) == leaves for string in strings[12:16])


def test_what_no_hand_can_obey_is_said(fingered):
    _, [part] = fingered(note("A3", inside=technical("<string>1</string>")), note("B3"))
    assert [each.departs for each in part.notes] == [True, False]
    assert part.notes[0].string == 4
    assert '"departs": true' in fingering_json([part])
    assert "A3:G1(1st pos.)!" in fingering_text([part])


def test_stops_from_the_lowest_note_up(fingered):
    _, [part] = fingered(
        note("B4"),
        note("D4", chord=True),
        note("G5", chord=True),
        note("A4"),
        note("A4", chord=True),
    )
    names = [name for name, *_ in taken(part)]
    assert names == ["D4", "B4", "G5", "A4", "A4"]
    strings = [string for _, string, *_ in taken(part)]
    assert strings[:3] == [3, 2, 1]
    assert sorted(strings[3:]) == [2, 3]


def test_a_stop_that_no_hand_holds_stays_open(fingered):
    _, [part] = fingered(note("G3"), note("A3", chord=True), note("B3"))
    assert [each.string for each in part.notes] == [None, None, 4]


def test_artificial_harmonic_moves_the_frame(fingered):
    touched = "<notehead>diamond</notehead>"
    _, [part] = fingered(note("B4"), note("E5", chord=True, inside=touched))
    base, touch = taken(part)
    assert base[1] == touch[1]
    assert (base[3], touch[3]) == ("1", "4")


def test_natural_harmonic_is_touched_on_its_string(fingered):
    touched = "<notehead>diamond</notehead>"
    _, [part] = fingered(note("D5", inside=touched + technical("<string>3</string>")))
    assert taken(part)[0][1] == 3


def test_natural_harmonic_keeps_to_the_string_called_for(fingered):
    """D5 is the octave of the D string and the twelfth of the G string: both have it."""
    call = "<direction><direction-type><words>sul G</words></direction-type></direction>"
    circle = technical("<harmonic><natural/></harmonic>")
    _, [free] = fingered(note("D5", inside=circle))
    _, [part] = fingered(note("D5", inside=circle, before=call))
    assert taken(free)[0][1] == 3
    assert taken(part)[0][1] == 4
    assert not part.notes[0].departs


def test_cello_stands_by_semitones_and_takes_the_thumb_high_up(fingered, knowledge):
    bass_clef = "<clef><sign>F</sign><line>4</line></clef>"
    low = ["C2", "D2", "E2", "F2"]
    _, [part] = fingered(*map(note, low), name="Violoncello", attributes=bass_clef)
    assert [finger for *_, finger in taken(part)] == ["0", "1", "3", "4"]
    thumb = note("A4", inside=technical("<fingering>T</fingering>"))
    _, [part] = fingered(thumb, note("B4"), name="Violoncello", attributes=bass_clef)
    assert taken(part)[0][3] == "T"


def test_tied_notes_are_taken_once(fingered):
    start, stop = '<tie type="start"/>', '<tie type="stop"/>'
    tied = [
        note("A4").replace("<voice>", start + "<voice>"),
        note("A4").replace("<voice>", stop + "<voice>"),
    ]
    _, [part] = fingered(*tied, note("B4"))
    assert [each.note.pitch.name for each in part.notes] == ["A4", "B4"]
    assert part.notes[0].length == Fraction(2)


def test_parts_without_a_hand_have_no_notes(fingered):
    _, [part] = fingered(note("A4"), name="Flute")
    assert part.notes == ()


# ------------------------------------------------------------------ the marked copy


def test_the_copy_differs_in_the_marks_alone(fingered, knowledge, tmp_path):
    path, parts = fingered(
        note("A4", inside=technical("<fingering>3</fingering>")),
        note("D5"),
        note("B4"),
        note("D4", chord=True),
        note("E5", inside="<lyric><text>la</text></lyric>"),
    )
    data = read_text(path)
    copy = tmp_path / "copy.musicxml"
    copy.write_bytes(marked_copy(data, parts))
    plain = copy.read_bytes()
    assert b"kept as it is" in plain
    assert plain.index(b"<string>") < plain.index(b"<lyric>")
    assert _plain(copy, knowledge) == _plain(path, knowledge)
    [again] = fingering_of(orchq.read(copy, knowledge), knowledge)
    assert taken(again) == taken(parts[0])
    assert marked_copy(plain, [again]).count(b"<string>") == plain.count(b"<string>")
    kept = iter(plain)
    assert all(byte in kept for byte in data), "every byte of the score is still there, in order"


def _plain(path, knowledge):
    score = orchq.read(path, knowledge)
    return [
        (event.onset, event.duration, event.voice, event.marks, [n.pitch for n in event.notes])
        for part in score.parts
        for event in part.events
    ]


def test_the_demo_is_copied_and_other_programs_open_it(knowledge, tmp_path):
    music21 = pytest.importorskip("music21")
    verovio = pytest.importorskip("verovio")
    path = orchq.demo_path()
    parts = orchq.fingering(path, knowledge=knowledge)
    copy = tmp_path / "demo.musicxml"
    copy.write_bytes(marked_copy(read_text(path), parts))
    assert _plain(copy, knowledge) == _plain(path, knowledge)
    noted = sum(note.string is not None for part in parts for note in part.notes)
    read = music21.converter.parse(copy, format="musicxml")
    strings = [
        mark
        for element in read.recurse().notes
        for mark in element.articulations
        if isinstance(mark, music21.articulations.StringIndication)
    ]
    assert len(strings) >= 0.95 * noted
    toolkit = verovio.toolkit()
    assert toolkit.loadFile(str(copy))
    assert toolkit.getPageCount() >= 1
    before = {_told(f) for f in orchq.check(path, knowledge=knowledge, advice=False).findings}
    after = {_told(f) for f in orchq.check(copy, knowledge=knowledge, advice=False).findings}
    assert after == before


def _told(finding):
    return finding.part_index, finding.measure_index, finding.beat, finding.rule, finding.severity
