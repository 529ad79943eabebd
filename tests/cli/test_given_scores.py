"""Folders and standard input as scores; files that would be called the same."""

import io
import json
import shutil
import sys

import pytest

import orchq

RULE = ("--rules", "note-below-lowest-string", "--no-advice")


def _standard_input(monkeypatch, data):
    monkeypatch.setattr(sys, "stdin", io.TextIOWrapper(io.BytesIO(data)))


def test_a_folder_stands_for_its_scores(run, tmp_path):
    for name in ("one/movement1.musicxml", "two/movement1.musicxml", ".hidden/x.musicxml"):
        path = tmp_path / name
        path.parent.mkdir()
        shutil.copy(orchq.demo_path(), path)
    (tmp_path / "notes.txt").write_text("no score", encoding="utf-8")
    ended = run("check", tmp_path, *RULE, "--json")
    files = [each["file"] for each in json.loads(ended.out)["files"]]
    assert files == [str(tmp_path / name / "movement1.musicxml") for name in ("one", "two")]
    told = run("check", tmp_path, *RULE).out
    assert "one/movement1.musicxml\nLantern Street" in told
    assert "two/movement1.musicxml\nLantern Street" in told


def test_a_folder_without_scores_is_refused(run, tmp_path):
    ended = run("check", tmp_path)
    assert (ended.code, ended.out) == (2, "")
    assert "holds no scores" in ended.err


def test_a_score_is_read_from_standard_input(run, monkeypatch):
    _standard_input(monkeypatch, orchq.demo_path().read_bytes())
    ended = run("check", "-", *RULE)
    assert ended.code == 1
    assert ended.out.startswith("standard-input.musicxml\n")
    _standard_input(monkeypatch, b"")
    assert "is empty" in run("check", "-").err


def test_sources_and_levels_are_named_in_any_spelling(run):
    given = [
        ("--trust", "Berlioz", "--level", "Student"),
        ("--trust", "berlioz", "--level", "student"),
    ]
    told = [run("check", orchq.demo_path(), *RULE, *words).out for words in given]
    assert told[0].rpartition(";")[0] == told[1].rpartition(";")[0]
    assert "judged for a student section" in told[0]


@pytest.mark.long
def test_a_score_is_taken_home(run, tmp_path):
    marked, plain, corrected = (tmp_path / f"{n}.musicxml" for n in ("m", "p", "c"))
    ended = run("check", orchq.demo_path(), *RULE, "--format", "musicxml", "-o", marked)
    assert (ended.code, ended.out, ended.err) == (1, "", f"wrote {marked}\n")
    assert run("check", marked, "--strip", "-o", plain).code == 0
    assert plain.read_bytes() == orchq.demo_path().read_bytes()
    words = ("check", orchq.demo_path(), "--rules", "note-below-lowest-string")
    ended = run(*words, "--apply", "1", "-o", corrected)
    assert ended.code == 0
    assert "write F#4 instead of F#3" in ended.out
    assert run("check", corrected, *RULE).code == 0


@pytest.mark.long
def test_wrong_calls_write_nothing(run, tmp_path):
    out, score = tmp_path / "out.musicxml", orchq.demo_path()
    for words in (
        ("--apply", "1"),
        ("--apply", "99", "-o", out),
        ("--apply", "x", "-o", out),
        ("--apply", "1", "--json", "-o", out),
        ("--format", "musicxml"),
        ("--strip",),
        ("--strip", "-o", tmp_path / "out.mxl"),
        (score, "--format", "musicxml", "-o", out),
    ):
        ended = run("check", score, *words)
        assert ended.code == 2, words
        assert ended.err.count("\n") == 1
    assert not list(tmp_path.iterdir())
