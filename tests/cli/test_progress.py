import io

import pytest

from orchq.cli import progress


class Terminal(io.StringIO):
    """A stream that says it is a terminal."""

    def isatty(self):
        return True


@pytest.fixture
def terminal(monkeypatch):
    """A terminal, put in the place of stderr when called: capturing comes after fixtures."""

    def put():
        stream = Terminal()
        monkeypatch.setattr("sys.stderr", stream)
        monkeypatch.setenv("TERM", "xterm")
        return stream

    return put


def files(tmp_path, *sizes):
    paths = []
    for number, size in enumerate(sizes):
        path = tmp_path / f"[red]{number}.musicxml"
        path.write_bytes(b" " * size)
        paths.append(path)
    return paths


def test_several_files_show_a_bar_on_a_terminal(tmp_path, terminal):
    stream = terminal()
    paths = files(tmp_path, 1, 1, 1)
    assert list(progress.with_progress(paths)) == paths
    assert "[red]" in stream.getvalue()


def test_a_big_file_shows_a_bar_on_a_terminal(tmp_path, terminal):
    stream = terminal()
    paths = files(tmp_path, 1_000_001)
    assert list(progress.with_progress(paths)) == paths
    assert stream.getvalue()


def test_a_small_file_shows_none(tmp_path, terminal):
    stream = terminal()
    paths = files(tmp_path, 1)
    assert list(progress.with_progress(paths)) == paths
    assert stream.getvalue() == ""


def test_a_file_that_is_missing_is_left_to_the_reader(tmp_path, terminal):
    terminal()
    paths = [tmp_path / "none.mxl"]
    assert list(progress.with_progress(paths)) == paths


def test_nothing_is_shown_where_nobody_looks(tmp_path, monkeypatch):
    stream = io.StringIO()
    monkeypatch.setattr("sys.stderr", stream)
    paths = files(tmp_path, 1, 1)
    assert list(progress.with_progress(paths)) == paths
    assert stream.getvalue() == ""
