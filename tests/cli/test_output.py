"""Output files are written whole or not at all."""

import json
import os
import stat
from pathlib import Path

import pytest

from orchq.cli.output import deliver
from orchq.errors import OrchqError


def test_a_report_goes_to_the_file_and_nothing_to_the_terminal(run, checker, score, tmp_path):
    checker()
    out = tmp_path / "report.json"
    outcome = run("check", score(), "--format", "json", "-o", out)
    assert (outcome.code, outcome.out, outcome.err) == (0, "", f"wrote {out}\n")
    assert json.loads(out.read_text())["files"][0]["notes"] == 312


def test_the_old_file_stays_when_writing_fails(tmp_path, monkeypatch):
    out = tmp_path / "report.txt"
    out.write_text("old")

    def full(_descriptor):
        raise OSError(28, "No space left on device")

    monkeypatch.setattr(os, "fsync", full)
    with pytest.raises(OrchqError):
        deliver("new", out)
    assert out.read_text() == "old"
    assert list(tmp_path.iterdir()) == [out]


def test_nothing_is_left_when_the_last_step_fails(tmp_path, monkeypatch):
    def refuse(_self, _target):
        raise OSError(1, "Operation not permitted")

    monkeypatch.setattr(Path, "replace", refuse)
    with pytest.raises(OrchqError):
        deliver("new", tmp_path / "report.txt")
    assert list(tmp_path.iterdir()) == []


def test_an_old_file_is_replaced_and_keeps_its_mode(tmp_path):
    out = tmp_path / "report.txt"
    out.write_text("old and longer than the new one")
    out.chmod(0o640)
    deliver("new ü\n", out)
    assert out.read_bytes() == "new ü\n".encode()
    assert stat.S_IMODE(out.stat().st_mode) == 0o640


def test_a_link_is_written_through(tmp_path):
    real, link = tmp_path / "real.txt", tmp_path / "link.txt"
    real.write_text("old")
    link.symlink_to(real)
    deliver("new", link)
    assert link.is_symlink()
    assert real.read_text() == "new"


def test_a_device_is_written_to_and_not_replaced(tmp_path):
    pipe = tmp_path / "pipe"
    os.mkfifo(pipe)
    reader = os.open(pipe, os.O_RDONLY | os.O_NONBLOCK)
    try:
        deliver("new", pipe)
        assert os.read(reader, 10) == b"new"
    finally:
        os.close(reader)
    assert stat.S_ISFIFO(pipe.stat().st_mode)


def test_the_input_is_never_overwritten(run, checker, score, tmp_path):
    calls = checker()
    path = score()
    before = path.read_bytes()
    link = tmp_path / "same.musicxml"
    link.hardlink_to(path)
    for out in (path, link):
        outcome = run("check", path, "-o", out)
        assert outcome.code == 2
        assert out.name in outcome.err
    assert calls == []
    assert path.read_bytes() == before


def test_no_file_is_made_when_nothing_could_be_read(run, checker, score, tmp_path):
    checker()
    out = tmp_path / "report.txt"
    assert run("check", score("bad.musicxml"), "-o", out).code == 2
    assert not out.exists()
