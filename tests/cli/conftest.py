"""The command line run inside the test process, with or without stand-ins for the checker."""

from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import pytest

from orchq.cli.app import main
from orchq.errors import ReadError
from orchq.project import Project
from orchq.rules.finding import FileReport, Finding
from orchq.terms import local_name

NAMED = ("level", "trust")


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

        def check_file(self: Project, path: Path) -> FileReport:
            names = {key: vars(self)[key] and local_name(vars(self)[key]) for key in NAMED}
            slugs = {rule.slug for rule in self.rules}
            calls.append({**vars(self), **names, "rules": slugs, "path": path})
            if path.name.startswith("bad"):
                raise ReadError(f"{path}: line 3: not well-formed")
            if path.name.startswith("buggy"):
                raise KeyError("a fault")
            path.read_bytes()
            return make_report(*findings, file=str(path))

        monkeypatch.setattr(Project, "check_file", check_file)
        return calls

    return install
