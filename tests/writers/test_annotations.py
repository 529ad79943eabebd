"""Findings written into the user's own score come off again byte for byte, and change no music."""

from pathlib import Path

import pytest

import orchq
from orchq.project import Project
from orchq.readers import read_text
from orchq.writers.annotations import without_annotations
from orchq.writers.same_music import difference
from tests.benchmarks.quartet_corpus import scores

SHORT = ("opus18no1/movement3", "k80/movement2", "opus74no1/movement4")
WORKS = [
    pytest.param(
        path,
        marks=()
        if path.as_posix().endswith(tuple(f"{s}.mxl" for s in SHORT))
        else pytest.mark.nightly,
    )
    for path in scores()
]


@pytest.fixture(scope="module")
def project() -> Project:
    return Project(advice=False)


def _annotated(project: Project, path: Path, folder: Path) -> Path:
    copy = folder / f"{path.stem}.musicxml"
    copy.write_bytes(project.check(path).annotated())
    return copy


@pytest.mark.parametrize("path", WORKS, ids=lambda path: "-".join(path.parts[-3:]))
def test_an_annotated_work_has_the_same_music(path: Path, project: Project, tmp_path: Path) -> None:
    copy = _annotated(project, path, tmp_path)
    assert without_annotations(copy.read_bytes()) == read_text(path)
    plain, marked = (orchq.read(each, project.knowledge) for each in (path, copy))
    assert difference(plain, marked) is None
    assert plain.note_count == marked.note_count > 0


def test_the_demo_bears_every_finding_with_its_number(project: Project, tmp_path: Path) -> None:
    report = project.check(orchq.demo_path()).reports[0]
    text = _annotated(project, orchq.demo_path(), tmp_path).read_text(encoding="utf-8")
    for number, finding in enumerate(report.findings, 1):
        assert f">[{number}] {finding.severity}: " in text
    places = sum(len(finding.all_places) for finding in report.findings)
    assert text.count("<?orchq-end?>") >= 2 * places
    assert 'color="#B3261E"' in text


def test_findings_of_a_marked_score_are_those_of_the_plain_one(
    project: Project, tmp_path: Path
) -> None:
    copy = _annotated(project, orchq.demo_path(), tmp_path)
    found = [
        {(f.rule, f.severity, f.part_index, f.measure_index, f.beat) for f in report.findings}
        for report in project.check([orchq.demo_path(), copy]).reports
    ]
    assert found[0] == found[1]
    again = project.check(copy).annotated()
    assert again.count(b"<?orchq-end?>") == copy.read_bytes().count(b"<?orchq-end?>")


def test_other_programs_open_it(project: Project, tmp_path: Path) -> None:
    music21 = pytest.importorskip("music21")
    verovio = pytest.importorskip("verovio")
    copy = _annotated(project, orchq.demo_path(), tmp_path)
    plain, marked = (
        [str(note.pitches) for note in music21.converter.parse(each).recurse().notes]
        for each in (orchq.demo_path(), copy)
    )
    assert plain == marked
    toolkit = verovio.toolkit()
    assert toolkit.loadFile(str(copy))
    drawn = "".join(toolkit.renderToSVG(page) for page in range(1, toolkit.getPageCount() + 1))
    assert "#B3261E" in drawn
    assert "[4]" in drawn


SCORE = """<?xml version="1.0" encoding="{encoding}"?>
<score-partwise version="4.0"><part-list><score-part id="P1"><part-name>Violin</part-name>
</score-part></part-list><part id="P1"><measure number="1"><attributes><divisions>1</divisions>
</attributes><direction><direction-type><words>Größer {words}</words></direction-type></direction>
<note><pitch><step>C</step><octave>3</octave></pitch><duration>4</duration>{head}</note>
</measure></part></score-partwise>"""


@pytest.mark.parametrize("encoding", ["UTF-8", "ISO-8859-1"])
@pytest.mark.parametrize(
    "head", ["", "<notehead>diamond</notehead>", "<notehead/>", "<staff>1</staff>"]
)
def test_heads_and_encodings_of_all_kinds(
    encoding: str, head: str, project: Project, tmp_path: Path
) -> None:
    data = SCORE.format(encoding=encoding, head=head, words="x").encode(encoding)
    path = tmp_path / "piece.musicxml"
    path.write_bytes(data)
    marked = project.check(path).annotated()
    assert marked != data
    assert without_annotations(marked) == data
    assert "Größer".encode(encoding) in marked
    copy = tmp_path / "copy.musicxml"
    copy.write_bytes(marked)
    scores = [orchq.read(each, project.knowledge) for each in (path, copy)]
    assert difference(*scores) is None


def test_a_score_changed_meanwhile_is_not_annotated(project: Project, tmp_path: Path) -> None:
    path = tmp_path / "piece.musicxml"
    data = SCORE.format(encoding="UTF-8", head="", words="x").encode()
    path.write_bytes(data)
    outcome = project.check(path)
    path.write_bytes(data.replace(b"<pitch><step>C</step><octave>3</octave></pitch>", b"<rest/>"))
    with pytest.raises(orchq.OrchqError, match="changed since"):
        outcome.annotated()


def test_only_one_musicxml_score_is_annotated(project: Project, tmp_path: Path) -> None:
    with pytest.raises(orchq.OrchqError, match="one score at a time"):
        project.check([orchq.demo_path()] * 2).annotated()
    path = tmp_path / "piece.ttl"
    path.write_text(orchq.export(orchq.demo_path(), project.knowledge), encoding="utf-8")
    with pytest.raises(orchq.OrchqError, match="no MusicXML"):
        project.check(path).annotated()


@pytest.mark.parametrize(
    "text",
    [
        b"<?orchq-annotation ?>",
        b"<?orchq-annotation ?>x",
        b"<?orchq-end?>",
        b"<?orchq-annotation a",
        b"",
    ],
)
def test_torn_layers_are_left_alone(text: bytes) -> None:
    assert without_annotations(text) == text
