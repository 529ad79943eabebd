"""Many scores checked in several processes: a record for each, nothing lost, nothing doubled."""

import json
import os
import signal
from collections.abc import Iterator
from pathlib import Path

import pytest

from orchq.cli.app import main
from orchq.errors import OrchqError
from orchq.many_scores import (
    Checking,
    Summary,
    Task,
    keep_records,
    on_cluster,
    read_records,
    records,
)

NOTE = (
    "<note><pitch><step>{step}</step><octave>{octave}</octave></pitch><duration>4</duration></note>"
)
SCORE = (
    '<score-partwise version="4.0"><identification><creator type="composer">{composer}</creator>'
    '</identification><part-list><score-part id="P1"><part-name>Violin</part-name></score-part>'
    '</part-list><part id="P1"><measure number="1">'
    "<attributes><divisions>1</divisions></attributes>"
    "{note}</measure></part></score-partwise>"
)
CHECKING = Checking(rules=("note-below-lowest-string",))


def library(folder: Path, count: int, broken: int = 0) -> list[str]:
    """Scores of one note, every second of them below the violin's G string; some no scores."""
    folder.mkdir()
    for number in range(count):
        step, octave = ("F", 3) if number % 2 else ("A", 4)
        note = NOTE.format(step=step, octave=octave)
        text = SCORE.format(composer=f"Composer {number % 3}", note=note)
        if number < broken:
            text = text[: 40 + number]
        (folder / f"{number:04}.musicxml").write_text(text, encoding="utf-8")
    return sorted(str(path) for path in folder.iterdir())


def tasks(files: list[str]) -> Iterator[Task]:
    return (Task(file, CHECKING, CHECKING.state()) for file in files)


def test_every_file_has_one_record_whatever_is_wrong_with_it(tmp_path):
    files = library(tmp_path / "scores", 6, broken=2)
    files.append(str(tmp_path / "nowhere.musicxml"))
    found = [json.loads(record) for record in records(tasks(files), 2)]
    assert sorted(each["file"] for each in found) == sorted(files)
    unread = {each["file"] for each in found if "error" in each}
    assert unread == {*files[:2], files[-1]}
    for each in (each for each in found if "error" not in each):
        below = int(Path(each["file"]).stem) % 2
        assert [finding["severity"] for finding in each["findings"]] == ["violation"] * below
        assert each["composer"] == f"Composer {int(Path(each['file']).stem) % 3}"


@pytest.mark.long
def test_a_library_resumes_where_it_broke_off(tmp_path, capsys):
    files = library(tmp_path / "scores", 5)
    out = tmp_path / "records.jsonl"
    call = ["library", str(tmp_path / "scores"), "-o", str(out), "--jobs", "1"]
    assert main(call) == 1
    first = {record["file"]: record for record in read_records(out)}
    assert sorted(first) == files
    lines = out.read_text().splitlines(keepends=True)
    out.write_text("".join(lines[:3]) + lines[3][:50])
    Path(files[0]).write_text(Path(files[1]).read_text())  # another content: checked again
    assert main([*call, "--resume"]) == 1
    again = [record["file"] for record in read_records(out)]
    assert sorted(again) == files
    kept = {line for line in lines[:3] if json.loads(line)["file"] != files[0]}
    assert kept <= set(out.read_text().splitlines(keepends=True))
    assert main(call) == 2
    assert "--resume" in capsys.readouterr().err


def test_records_of_other_options_are_not_kept(tmp_path):
    files = library(tmp_path / "scores", 2)
    out = tmp_path / "records.jsonl"
    out.write_text("".join(f"{record}\n" for record in records(tasks(files), 1)))
    assert keep_records(out, "another state") == {}
    assert out.read_text() == ""


def test_a_wrong_option_is_reported_once(tmp_path, capsys):
    library(tmp_path / "scores", 3)
    call = ["library", str(tmp_path / "scores"), "-o", str(tmp_path / "o"), "--rules", "no-such"]
    assert main(call) == 2
    assert capsys.readouterr().err.count("no-such") == 1


def test_a_summary_counts_by_rule_composer_and_work():
    summary = Summary()
    finding = {"rule": "a", "severity": "warning"}
    summary.add({"file": "x/one.mxl", "notes": 3, "composer": "C", "findings": [finding, finding]})
    summary.add({"file": "x/two.mxl", "notes": 4, "findings": []})
    summary.add({"file": "x/bad.mxl", "error": "no"})
    assert (summary.files, summary.unread, summary.notes) == (3, 1, 7)
    tables = {
        title: [(name, row["warning"]) for name, row in rows] for title, rows in summary.tables()
    }
    assert tables == {"rule": [("a", 2)], "composer": [("C", 2)], "work": [("C: one", 2)]}


@pytest.mark.nightly
def test_a_thousand_files_with_twenty_broken_ones_leave_memory_flat(tmp_path):
    files = library(tmp_path / "scores", 1000, broken=20)
    unread, sizes = 0, []
    for number, record in enumerate(records(tasks(files), 2), 1):
        unread += "error" in json.loads(record)
        if number % 100 == 0:
            sizes.append(_resident())
    assert unread == 20
    assert number == 1000
    assert max(sizes[2:]) < sizes[1] + 8_000_000


def _resident() -> int:
    pages = Path("/proc/self/statm").read_text(encoding="ascii").split()[1]
    return int(pages) * os.sysconf("SC_PAGE_SIZE")


def test_without_a_scheduler_the_address_is_named():
    pytest.importorskip("distributed")
    with pytest.raises(OrchqError, match="nothing-of-the-kind"):
        list(on_cluster("nothing-of-the-kind://x", iter(())))


@pytest.mark.long
@pytest.mark.loopback
def test_nothing_is_lost_or_doubled_when_a_worker_is_killed(tmp_path):
    """A scheduler and two workers of Dask, each a process; one is killed midway."""
    distributed = pytest.importorskip("distributed")
    files = library(tmp_path / "scores", 60, broken=3)
    with distributed.LocalCluster(
        n_workers=2, threads_per_worker=1, processes=True, dashboard_address=None, host="127.0.0.1"
    ) as cluster:
        victim = next(iter(cluster.workers.values())).process.pid
        found = []
        for record in on_cluster(cluster.scheduler_address, tasks(files)):
            found.append(json.loads(record))
            if len(found) == 10:
                os.kill(victim, signal.SIGKILL)
    assert sorted(each["file"] for each in found) == files
    errors = [each["error"] for each in found if "error" in each]
    assert len(errors) == 3, errors
