"""Pipes, devices, folders and what is too long are refused wherever a file may be named."""

import os
import re
from pathlib import Path

import pytest

import orchq
from orchq import inputs
from orchq.baseline import read_baseline
from orchq.cli.app import main
from orchq.errors import OrchqError, ReadError
from orchq.inputs import opened, read_whole
from orchq.knowledge import store
from orchq.readers import ReadLimits, read_score
from orchq.settings import read_settings


def _asked(path: Path) -> None:
    if main(["sparql", str(path)]) == 2:
        raise OrchqError("refused")


READ = {
    "score.musicxml": orchq.read,
    "score.mxl": orchq.read,
    "score.mid": orchq.read,
    "score.krn": orchq.read,
    "score.mei": orchq.read,
    "excerpt.ttl": orchq.read,
    "excerpt.nt": orchq.read,
    "excerpt.jsonld": orchq.read,
    "orchq.toml": read_settings,
    "baseline.json": read_baseline,
    "ours.ttl": lambda path: orchq.load([path]),
    "ours.rq": lambda path: orchq.load([path]),
    "query.rq": _asked,
}


WHOLE = Path(__file__).stat()
needs_fifo = pytest.mark.skipif(not hasattr(os, "mkfifo"), reason="the system has no named pipes")
needs_zero = pytest.mark.skipif(not Path("/dev/zero").exists(), reason="there is no /dev/zero")


@needs_fifo
@pytest.mark.parametrize("name", READ)
def test_a_pipe_is_not_waited_for(name, tmp_path):
    os.mkfifo(tmp_path / name)
    with pytest.raises(OrchqError):
        READ[name](tmp_path / name)


@needs_zero
@pytest.mark.parametrize("name", READ)
def test_a_link_to_a_device_is_not_read(name, tmp_path):
    (tmp_path / name).symlink_to("/dev/zero")
    with pytest.raises(OrchqError):
        READ[name](tmp_path / name)


@pytest.mark.parametrize("name", ["score.musicxml", "excerpt.ttl", "orchq.toml", "baseline.json"])
def test_a_folder_is_no_file(name, tmp_path):
    (tmp_path / name).mkdir()
    with pytest.raises(ReadError, match=name):
        READ[name](tmp_path / name)


@needs_fifo
def test_what_has_become_a_pipe_since_it_was_looked_at(tmp_path, monkeypatch):
    """Between the first look and the opening another may stand there."""
    os.mkfifo(tmp_path / "pipe")
    monkeypatch.setattr(inputs.Path, "stat", lambda _path: WHOLE)
    with pytest.raises(ReadError, match="no ordinary file"), opened(tmp_path / "pipe"):
        pass


def test_the_bound_is_a_number_of_bytes(tmp_path):
    path = tmp_path / "ten"
    path.write_bytes(b"0123456789")
    assert read_whole(path, 10, "tens") == b"0123456789"
    with pytest.raises(ReadError, match="tens of more than 9 bytes"):
        read_whole(path, 9, "tens")


def test_triples_have_a_bound(tmp_path, monkeypatch):
    path = tmp_path / "many.nt"
    path.write_text("<urn:a> <urn:b> <urn:c> .\n" * 100)
    monkeypatch.setattr(store, "LARGEST", 1000)
    with pytest.raises(ReadError, match="more than 1000 bytes"):
        orchq.read(path)


@pytest.mark.parametrize("ending", ["mid", "krn", "mei", "abc"])
def test_other_formats_have_a_bound(tmp_path, ending):
    path = tmp_path / f"score.{ending}"
    path.write_bytes(b" " * 1001)
    with pytest.raises(ReadError, match="more than 1000 bytes"):
        read_score(path, orchq.load(), ReadLimits(max_converted_bytes=1000))


_OPENING = re.compile(r"\.read_(?:text|bytes)\(|\.open\(\"r|(?:with|=) open\(")


def test_no_other_place_opens_what_a_user_names():
    """Files of the package are read as they are; all others go through one door."""
    package = Path(orchq.__file__).parent
    known = {
        "lint/releases.py", "lint/skeleton.py", "questions/head.py", "report/engraved/engraving.py",
        "report/web.py", "rules/checking.py", "files.py", "inputs.py", "knowledge/jsonld.py",
        "app/own_pages.py", "app/shell.py", "report/reference/published.py",
        "many_scores.py",  # its own records
    }  # fmt: skip
    opening = {
        path.relative_to(package).as_posix()
        for path in package.rglob("*.py")
        for text in [path.read_text(encoding="utf-8")]
        if _OPENING.search(text)
    }
    assert opening - known <= {"survey/survey_run.py", "readers/container.py", "cli/streams.py"}
