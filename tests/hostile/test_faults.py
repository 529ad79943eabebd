"""Disks, homes, locales, clocks and other processes at their worst: whole files or none."""

import errno
import os
import pathlib
import re
import shutil
import signal
import subprocess
import sys
import time
from contextlib import suppress
from pathlib import Path

import pytest

from orchq.baseline import read_baseline
from orchq.cli.app import main
from orchq.errors import ReadError

ROOT = Path(__file__).parents[2]
DEMO = ROOT / "orchq" / "demo" / "lantern-street.musicxml"
posix = pytest.mark.skipif(os.name != "posix", reason="a system of POSIX is used")
WRITING = {
    "report": ["check", DEMO, "--no-settings", "--no-advice", "--format", "json", "-o"],
    "baseline": ["check", DEMO, "--no-settings", "--no-advice", "--write-baseline"],
    "export": ["export", DEMO, "-o"],
    "sheet": ["sheet", "viola", "-o"],
}


def program(*words: object, **environment: str) -> subprocess.CompletedProcess[str]:
    return subprocess.run(
        [sys.executable, "-m", "orchq", *map(str, words)],
        capture_output=True, text=True, check=False, timeout=120, env=os.environ | environment,
    )  # fmt: skip


@pytest.mark.sampled(4)
@pytest.mark.parametrize("words", WRITING.values(), ids=WRITING)
@pytest.mark.parametrize("before", [None, "old"])
def test_a_full_disk_leaves_what_was_there(words, before, tmp_path, monkeypatch, capfd):
    out = tmp_path / "out"
    if before is not None:
        out.write_text(before)
    real = pathlib.Path.write_text

    def full(path, text, **named):
        if path.parent == tmp_path:
            real(path, text[: len(text) // 2], **named)
            raise OSError(errno.ENOSPC, os.strerror(errno.ENOSPC))
        return real(path, text, **named)

    monkeypatch.setattr(pathlib.Path, "write_text", full)
    assert main([*map(str, words), str(out)]) == 2
    assert capfd.readouterr().err.splitlines()[-1].endswith("No space left on device")
    assert [path.name for path in tmp_path.iterdir()] == (["out"] if before else [])
    assert before is None or out.read_text() == before


@pytest.mark.nightly
@posix
def test_killed_at_any_time_nothing_is_half_written(tmp_path):
    """An old baseline is whole after every kill, or replaced by a whole one."""
    out = tmp_path / "baseline.json"
    words = [*map(str, WRITING["baseline"]), str(out)]
    assert main(words) == 1 or out.exists()
    whole = read_baseline(out).files
    for step in range(24):
        child = subprocess.Popen([sys.executable, "-m", "orchq", *words], stdout=subprocess.DEVNULL)
        time.sleep(step * 0.1)
        with suppress(ProcessLookupError):
            child.send_signal(signal.SIGKILL)
        child.wait()
        assert read_baseline(out).files == whole


@pytest.mark.long
@pytest.mark.parametrize(
    "environment",
    [
        {"HOME": "/nonexistent", "XDG_CACHE_HOME": "/nonexistent", "TMPDIR": "/nonexistent"},
        {"LC_ALL": "C", "PYTHONUTF8": "0", "PYTHONIOENCODING": "ascii"},
        {"LC_ALL": "tr_TR.UTF-8", "LANG": "xx", "TERM": "nothing", "COLUMNS": "-3"},
    ],
    ids=["no home", "ascii", "odd locale"],
)
def test_odd_surroundings_change_no_finding(environment):
    done = program("check", DEMO, "--no-settings", "--no-advice", **environment)
    assert (done.returncode, done.stderr) == (1, "")
    assert re.search(r"\d+ violations, .* in 5 parts", done.stdout)


@posix
@pytest.mark.long
def test_an_installation_that_cannot_be_written(tmp_path):
    home = tmp_path / "installed"
    for name in ("orchq", "ontology", "shapes"):
        shutil.copytree(ROOT / name, home / name, ignore=shutil.ignore_patterns("__pycache__"))
    for path in (home, *home.rglob("*")):
        path.chmod(0o555 if path.is_dir() else 0o444)
    done = program("demo", PYTHONPATH=str(home))
    for path in (home, *home.rglob("*")):
        path.chmod(0o755)
    assert (done.returncode, done.stderr) == (0, "")


@pytest.mark.long
def test_a_clock_that_goes_back_changes_no_finding(monkeypatch, capfd):
    def told():
        main(["check", str(DEMO), "--no-settings", "--no-advice", "--format", "json"])
        return capfd.readouterr().out.partition('"seconds"')[0]

    before = told()
    ticks = iter(range(10**9, 0, -1))
    monkeypatch.setattr(time, "time", lambda: float(next(ticks)))
    monkeypatch.setattr("orchq.project.project.perf_counter", lambda: float(next(ticks)))
    assert told() == before


@posix
@pytest.mark.long
def test_two_surveys_of_one_folder_leave_whole_tables(tmp_path):
    pytest.importorskip("pyarrow")
    folder, out = tmp_path / "scores", tmp_path / "out"
    folder.mkdir()
    for number in range(3):
        shutil.copy(DEMO, folder / f"{number}.musicxml")
    words = [sys.executable, "-m", "orchq", "survey", str(folder), "-o", str(out), "--jobs", "1"]
    both = [subprocess.Popen(words, stdout=subprocess.DEVNULL) for _ in range(2)]
    assert [each.wait(timeout=300) for each in both] == [0, 0]
    once = (out / "pitches.csv").read_bytes()
    assert program(*words[3:]).returncode == 0
    assert (out / "pitches.csv").read_bytes() == once
    assert not [path for path in out.rglob(".*") if path.name != ".done"]


@pytest.mark.long
@posix
def test_no_child_outlives_a_parent_that_is_ended(tmp_path):
    """A question without end is worked on when its parent is ended by a signal."""
    if not Path("/proc/self").exists():
        pytest.skip("looks into /proc")
    query = tmp_path / "endless.rq"
    query.write_text("SELECT (COUNT(*) AS ?n) { ?a ?b ?c . ?d ?e ?f . ?g ?h ?i . ?j ?k ?l }")
    parent = subprocess.Popen([sys.executable, "-m", "orchq", "sparql", str(query)])
    try:
        children = _soon(lambda: _children(parent.pid))
        assert children
    finally:
        parent.terminate()
        parent.wait()
    assert _soon(lambda: not any(Path(f"/proc/{child}").exists() for child in children))


def _children(number: int) -> list[str]:
    with suppress(OSError):
        return Path(f"/proc/{number}/task/{number}/children").read_text(encoding="ascii").split()
    return []


def _soon(happens, seconds: float = 20):
    last = time.monotonic() + seconds
    while not (found := happens()) and time.monotonic() < last:
        time.sleep(0.05)
    return found


@pytest.mark.skipif(os.name != "posix" or os.geteuid() == 0, reason="root may read everything")
def test_a_file_that_may_not_be_read(tmp_path):
    path = tmp_path / "baseline.json"
    path.write_text("{}")
    path.chmod(0)
    with pytest.raises(ReadError, match="Permission denied"):
        read_baseline(path)
