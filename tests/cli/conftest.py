"""The command line run inside the test process, with or without stand-ins for the checker."""

from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import pytest

import orchq
from orchq.cli.app import main
from orchq.errors import ReadError
from orchq.rules.finding import FileReport, Finding


@dataclass(frozen=True)
class Outcome:
    """How a call ended and what it printed."""

    code: int
    out: str
    err: str


@pytest.fixture
def run(capfdbinary: pytest.CaptureFixture[bytes]) -> Callable[..., Outcome]:
    """Call the command line with these arguments."""

    def call(*arguments: object) -> Outcome:
        code = main([str(argument) for argument in arguments])
        out, err = capfdbinary.readouterr()
        return Outcome(code, out.decode("utf-8"), err.decode("utf-8"))

    return call


@pytest.fixture
def score(tmp_path: Path) -> Callable[[str], Path]:
    """A maker of files that the stand-in checker accepts."""

    def make(name: str = "piece.musicxml") -> Path:
        path = tmp_path / name
        path.write_text("<score-partwise/>", encoding="utf-8")
        return path

    return make


@pytest.fixture
def checker(
    monkeypatch: pytest.MonkeyPatch, make_report: Callable[..., FileReport]
) -> Callable[..., list[dict[str, Any]]]:
    """Put a checker in place that finds what the test says; returns the calls it will note.

    A file whose name begins with ``bad`` cannot be read, ``buggy`` meets a fault of ours.
    """

    def install(*findings: Finding) -> list[dict[str, Any]]:
        calls: list[dict[str, Any]] = []

        def check(path: Path, **options: Any) -> FileReport:
            calls.append(options | {"path": path})
            if path.name.startswith("bad"):
                raise ReadError(f"{path}: line 3: not well-formed")
            if path.name.startswith("buggy"):
                raise KeyError("a fault")
            path.read_bytes()
            return make_report(*findings, file=str(path))

        monkeypatch.setattr(orchq, "check", check)
        return calls

    return install
