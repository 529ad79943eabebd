"""Scores that were refused, misread or never ended, though they can be read."""

import io
import subprocess
import sys
import zipfile

import pytest

import orchq
from orchq.errors import ReadError
from orchq.project import Project
from orchq.report.formats import format_report

WHOLE = """<score-partwise version="4.0">
<part-list><score-part id="P1"><part-name>{name}</part-name></score-part></part-list>
<part id="P1"><measure number="1"><attributes><divisions>4</divisions></attributes>{music}
</measure></part></score-partwise>"""
NOTE = (
    "<note>{first}<pitch><step>{step}</step><octave>{octave}</octave></pitch>"
    "<duration>{duration}</duration><voice>{voice}</voice><type{size}>quarter</type></note>"
)


def note(step="C", octave=4, *, first="", voice=1, size="", duration=4):
    return NOTE.format(
        first=first, step=step, octave=octave, voice=voice, size=size, duration=duration
    )


@pytest.fixture
def score(tmp_path):
    def write(music, name="Violin"):
        path = tmp_path / "score.musicxml"
        path.write_text(WHOLE.format(name=name, music=music), encoding="utf-8")
        return path

    return write


def sets(report):
    return {(f.event, f.rule, f.severity, f.notes) for f in report.findings}


def test_one_note_beyond_all_instruments_is_a_finding_of_its_own(score):
    report = orchq.check(score(note(octave=10) + note("A") + note(octave=-1)), advice=False)
    assert report.notes == 3
    assert {("C10",), ("C-1",)} <= {finding.notes for finding in report.findings}
    assert ("A4",) not in {finding.notes for finding in report.findings}


def test_small_notes_that_are_left_out_are_remarked(score):
    small = ' size="cue"'
    read = orchq.read(score(note(size=small) + note(size=small) + note()))
    assert read.note_count == 1
    assert any("cues" in remark and "2 times" in remark for remark in read.remarks)
    plain = orchq.read(score(note(first="<cue/>") + note()))
    assert not plain.remarks


@pytest.mark.parametrize(("tempo", "read"), [("0.234", None), ("-5", None), ("0", None), ("1", 1)])
def test_a_tempo_that_is_none_is_not_exported(score, tmp_path, tempo, read):
    path = score(f'<sound tempo="{tempo}"/>{note()}')
    (part,) = orchq.read(path).parts
    assert [mark.tempo for mark in part.marks if mark.tempo] == ([read] if read else [])
    copy = tmp_path / "copy.ttl"
    copy.write_text(orchq.export(path), encoding="utf-8")
    assert sets(orchq.check(copy)) == sets(orchq.check(path))


def test_a_score_and_its_export_name_the_same_notes_of_a_stop(score, tmp_path):
    """Events at one time, out of the order of their voices, and more than nine of them."""
    chord = "".join(note(step, 2, first="<chord/>", duration=0) for step in "ABAB")
    music = note("G", 3, voice=2, duration=0) + note("A", 6, voice=2, duration=0) + chord
    music += note("F", 6, voice=1) + "".join(note("A", 6, first="<chord/>") for _ in range(11))
    path = score(music, "Violoncello")
    copy = tmp_path / "copy.ttl"
    copy.write_text(orchq.export(path), encoding="utf-8")
    assert orchq.read(copy).parts[0].events == orchq.read(path).parts[0].events
    assert sets(orchq.check(copy, advice=False)) == sets(orchq.check(path, advice=False))


def test_an_archive_of_a_version_that_nobody_knows(tmp_path):
    memory = io.BytesIO()
    with zipfile.ZipFile(memory, "w") as archive:
        archive.writestr("score.xml", WHOLE.format(name="Violin", music=note()))
    odd = bytearray(memory.getvalue())
    odd[odd.index(b"PK\x01\x02") + 6] = 92  # the version needed to extract, times ten
    path = tmp_path / "score.mxl"
    path.write_bytes(odd)
    with pytest.raises(ReadError, match=r"score\.mxl: .*version"):
        orchq.read(path)


def test_reversed_writing_reaches_no_report(score, tmp_path):
    marked = "Violin \u202eI\u2066"
    words = "<direction><direction-type><words>ar\u202eco</words></direction-type></direction>"
    path = score(words + note("C", 3), marked).rename(tmp_path / "score\u202e.musicxml")
    outcome = Project(advice=False).check(path)
    assert outcome.reports[0].findings
    (part,) = orchq.read(path).parts
    assert (part.name, part.marks[0].text) == ("Violin I", "arco")
    for name in ("text", "github", "html"):
        assert not {"\u202e", "\u2066"} & set(format_report(outcome, name))


def test_engraving_ends_however_often_something_is_repeated(score):
    pytest.importorskip("verovio")
    barline = '<barline><repeat direction="backward" times="999999"/></barline>'
    outcome = Project(advice=False).check(score(note("C", 3) + barline))
    page = format_report(outcome, "html")
    assert "<svg" in page


@pytest.mark.long
def test_a_process_that_works_for_ever_is_ended_with_its_time():
    """The bound that engraving and conversion stand under."""
    code = (
        "import sys; sys.path.insert(0, '.'); from orchq import bounded;"
        "ended = bounded.done('tests.hostile.endless', b'', 1.5);"
        "print(ended.late, ended.written)"
    )
    done = subprocess.run(
        [sys.executable, "-c", code], capture_output=True, text=True, timeout=60, check=True
    )
    assert done.stdout.split() == ["True", "b'begun\\n'"]


def test_a_process_that_takes_all_memory_is_ended():
    code = (
        "import sys; sys.path.insert(0, '.'); from orchq import bounded;"
        "print(bounded.done('tests.hostile.endless', b'memory', 30, 300_000_000).code != 0)"
    )
    done = subprocess.run(
        [sys.executable, "-c", code], capture_output=True, text=True, timeout=60, check=True
    )
    assert done.stdout.split() == ["True"]
