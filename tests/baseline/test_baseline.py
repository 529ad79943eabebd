"""A baseline accepts what was known, however the score has moved, and nothing graver or more."""

import json
from collections import Counter

import pytest
from hypothesis import given
from hypothesis import strategies as st

import orchq
from orchq.baseline import Baseline, Known, baseline_of, read_baseline, unpaired
from orchq.errors import ReadError
from orchq.rules.finding import Accepted
from orchq.severity import SEVERITIES


@pytest.fixture
def path(tmp_path):
    return tmp_path / "known.json"


@pytest.fixture
def saved(path, make_report):
    """A maker of baselines that were written and read again."""

    def save(*findings, file="piece.musicxml"):
        written = baseline_of([make_report(*findings, file=str(path.parent / file))], path)
        path.write_text(written.text(), encoding="utf-8")
        return read_baseline(path)

    return save


@pytest.fixture
def now(path, make_report):
    return lambda *findings, **other: make_report(
        *findings, **({"file": str(path.parent / "piece.musicxml")} | other)
    )


@pytest.mark.parametrize(
    "different",
    [
        {},
        {"message": "in other words"},
        {"event": "https://example.org/other"},
        {"evidence": ()},
        {"beat": 1.0},
        {"measure_index": 30},
        {"part_index": 4, "part_id": "P5"},
        {"severity": "warning"},
        {"notes": ("D4", "F3")},
    ],
)
def test_a_known_finding_is_accepted(saved, now, make_finding, different):
    known = saved(make_finding(notes=different.get("notes", ("F3",))[::-1]))
    report = known.accepting(now(make_finding(**different)))
    assert report.findings == report.remarks == ()
    assert [(each.where, each.reason) for each in report.accepted] == [
        ("baseline", "known in known.json")
    ]


@pytest.mark.parametrize(
    "different",
    [
        {"rule": "note-above-compass"},
        {"part": "Violin II"},
        {"measure": "13"},
        {"notes": ("E3",)},
        {"notes": ("F3", "F3")},
    ],
)
def test_another_finding_is_new_and_the_known_one_gone(saved, now, make_finding, different):
    report = saved(make_finding()).accepting(now(make_finding(**different)))
    assert len(report.findings) == 1
    assert report.accepted == ()
    assert "1 of the baseline known.json is gone" in report.remarks


def test_a_finding_that_has_become_graver_is_new(saved, now, make_finding):
    known = saved(make_finding(severity="warning"), make_finding(severity="info"))
    report = known.accepting(now(make_finding(), make_finding(severity="warning")))
    assert [finding.severity for finding in report.findings] == ["violation"]
    assert len(report.accepted) == 1


def test_as_many_are_accepted_as_were_known(saved, now, make_finding):
    report = saved(*[make_finding()] * 2).accepting(now(*[make_finding()] * 3))
    assert [len(finding.all_places) for finding in report.findings] == [1]
    assert [len(each.finding.all_places) for each in report.accepted] == [2]
    report = saved(*[make_finding()] * 3).accepting(now(make_finding()))
    assert (len(report.findings), len(report.accepted)) == (0, 1)
    assert "2 of the baseline known.json are gone" in report.remarks


def test_files_are_named_from_the_folder_of_the_baseline(
    saved, now, make_finding, path, monkeypatch
):
    (path.parent / "music").mkdir()
    known = saved(make_finding(), file="music/piece.musicxml")
    assert list(json.loads(path.read_text())["files"]) == ["music/piece.musicxml"]
    for folder, file in (("music", "piece.musicxml"), (".", "music/piece.musicxml")):
        monkeypatch.chdir(path.parent / folder)
        assert known.accepting(now(make_finding(), file=file)).findings == ()
    other = known.accepting(now(make_finding(), file="other/piece.musicxml"))
    assert len(other.findings) == 1
    assert other.remarks == ()


def test_what_is_accepted_otherwise_is_not_in_the_baseline(path, now, make_finding):
    report = now(accepted=(Accepted(make_finding(), "asked for", "excerpt"),))
    assert baseline_of([report], path).files == {"piece.musicxml": ()}


def test_the_file_is_sorted_and_has_a_line_for_each_finding(saved, path, make_finding):
    findings = [
        make_finding(measure=measure, part=part)
        for part in ("Viola", "Cello")
        for measure in ("10", "9", "X1", "9")
    ]
    saved(*findings)
    text = path.read_text()
    lines = [json.loads(line.strip().rstrip(",")) for line in text.splitlines() if "rule" in line]
    assert [(line["part"], line["measure"], line.get("count")) for line in lines] == [
        ("Cello", "X1", None),
        ("Cello", "9", 2),
        ("Cello", "10", None),
        ("Viola", "X1", None),
        ("Viola", "9", 2),
        ("Viola", "10", None),
    ]
    saved(*reversed(findings))
    assert path.read_text() == text


def test_nothing_found_is_a_baseline_too(saved, now, make_finding):
    known = saved()
    assert known.files == {}
    assert len(known.accepting(now(make_finding())).findings) == 1


def entry(**different):
    values = {
        "part": "Viola",
        "measure": "3",
        "rule": "stop-hard",
        "notes": ["C3"],
        "severity": "warning",
    }
    return json.dumps(values | different)


@pytest.mark.parametrize(
    "text",
    [
        "",
        "{",
        "[]",
        "3",
        "{}",
        '{"orchq-baseline": 2, "files": {}}',
        '{"orchq-baseline": 1}',
        '{"orchq-baseline": 1, "files": []}',
        '{"orchq-baseline": 1, "files": {"a": 3}}',
        '{"orchq-baseline": 1, "files": {"a": [3]}}',
        '{"orchq-baseline": 1, "files": {"a": [{}]}}',
        '{"orchq-baseline": 1, "files": {"a": {"b": 1}}}',
        *(
            f'{{"orchq-baseline": 1, "files": {{"a": [{wrong}]}}}}'
            for wrong in (
                entry(part=3),
                entry(measure=None),
                entry(rule=[]),
                entry(notes="C3"),
                entry(notes=[3]),
                entry(notes={"C3": 1}),
                entry(severity="grave"),
                entry(severity=["info"]),
                entry(count=0),
                entry(count=True),
                entry(count="2"),
                entry(count=1.5),
                entry(count=10**12),
            )
        ),
        "[" * 200_000,
        '{"orchq-baseline": ' + "9" * 10_000 + "}",
        "\x00",
        "ÿ",
    ],
    ids=lambda text: text[:60],
)
def test_a_broken_baseline_is_one_sentence(path, text):
    path.write_bytes(text.encode("latin-1"))
    with pytest.raises(ReadError) as caught:
        read_baseline(path)
    assert str(caught.value).startswith(f"{path}: ")
    assert "\n" not in str(caught.value)


def test_a_baseline_that_is_missing_is_one_sentence(path):
    with pytest.raises(ReadError, match=r"known\.json"):
        read_baseline(path)


NAMES = st.text(max_size=5) | st.sampled_from(["Viola", "12", "x" * 30])
KNOWN = st.builds(
    Known,
    *(NAMES, NAMES, NAMES),
    st.lists(NAMES, max_size=3).map(tuple),
    st.sampled_from(SEVERITIES),
)


@given(st.lists(KNOWN, max_size=8), st.lists(KNOWN, max_size=8))
def test_pairs_leave_what_cannot_be_paired(before, after):
    gone, new = unpaired(before, after)
    assert len(before) - len(gone) == len(after) - len(new)
    assert unpaired(before, before) == ([], [])
    for place in new:
        alike = [
            known for known in (before[each] for each in gone) if known[:-1] == after[place][:-1]
        ]
        assert all(known.gravity < after[place].gravity for known in alike)


@pytest.mark.long
@given(st.dictionaries(NAMES, st.lists(KNOWN, min_size=1, max_size=6), max_size=3))
def test_whatever_a_score_holds_comes_back(tmp_path_factory, files):
    path = tmp_path_factory.mktemp("baseline") / "known.json"
    written = Baseline(path, {name: tuple(known) for name, known in files.items()})
    path.write_text(written.text(), encoding="ascii")
    read = read_baseline(path)
    assert {name: Counter(known) for name, known in read.files.items()} == {
        name: Counter(known) for name, known in files.items()
    }
    assert read.text() == written.text()


# ------------------------------------------------------------------ the same score, edited


@pytest.mark.long
def test_known_mistakes_stay_known_when_the_score_is_edited_elsewhere(tmp_path):
    text = orchq.demo_path().read_text(encoding="utf-8")
    score, path = tmp_path / "piece.musicxml", tmp_path / "known.json"
    score.write_text(text, encoding="utf-8")
    before = orchq.check(score)
    known = baseline_of([before], path)
    grace = (
        "<note><grace/><pitch><step>A</step><octave>4</octave></pitch>"
        "<voice>1</voice><type>eighth</type></note>"
    )
    head, measure, tail = text.partition('<measure number="17"')
    score.write_text(head + measure + tail.replace("<note", f"{grace}<note", 1), encoding="utf-8")
    after = orchq.check(score)
    assert {finding.event for finding in after.findings} != {f.event for f in before.findings}
    report = known.accepting(after)
    assert report.findings == report.remarks == ()
    assert len(report.accepted) == len(before.findings)
