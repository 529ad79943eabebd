"""What is done with a damaged input of each kind, and how it may end."""

from collections.abc import Callable, Mapping
from functools import cache
from pathlib import Path

import orchq
from orchq.baseline import read_baseline
from orchq.errors import OrchqError
from orchq.files import write_whole
from orchq.knowledge import Knowledge
from orchq.project import Outcome, Project
from orchq.report.engraved import html_report
from orchq.rules.finding import FileReport
from tests.fuzz.seeds import SMALL, house, seed


def outcome(kind: str, content: bytes, folder: Path) -> str:
    """Do with an input what the program does: ``read`` or ``refused``, else it raises.

    The folder is empty before, and holds nothing but whole files after.
    """
    try:
        KINDS[kind](kind, content, folder)
    except OrchqError:
        return "refused"
    return "read"


@cache
def _project() -> Project:
    return Project(advice=False)


@cache
def _advising() -> Project:
    return Project()


def _score(kind: str, content: bytes, folder: Path) -> None:
    path = folder / f"score.{_ENDINGS.get(kind, kind)}"
    path.write_bytes(content)
    project = _advising() if content[-2:].isspace() else _project()
    report = project.check_file(path)
    assert all(finding.message for finding in report.findings)


def _page(_kind: str, content: bytes, folder: Path) -> None:
    path = folder / "score.musicxml"
    path.write_bytes(content)
    project = _project()
    report = project.check_file(path)
    page = html_report(Outcome((report,), project.rules, knowledge=project.knowledge))
    assert "<script>window" not in page
    write_whole(folder / "page.html", lambda draft: draft.write_text(page, encoding="utf-8"))


def _settings(_kind: str, content: bytes, folder: Path) -> None:
    path = folder / "orchq.toml"
    path.write_bytes(content)
    Project(settings=path, knowledge=_project().knowledge)


def _baseline(_kind: str, content: bytes, folder: Path) -> None:
    path = folder / "baseline.json"
    path.write_bytes(content)
    read_baseline(path).accepting(_whole_report())


@cache
def _whole_report() -> FileReport:
    return _project().check_file(SMALL)


def _facts(_kind: str, content: bytes, folder: Path) -> None:
    path = folder / "ours.ttl"
    path.write_bytes(content)
    Knowledge.of([path])


def _extension(kind: str, content: bytes, folder: Path) -> None:
    for name, whole in house().items():
        (folder / name).write_bytes(whole)
    (folder / {"rule": "no-col-legno.ttl", "question": "our-loudness.rq"}[kind]).write_bytes(
        content
    )
    project = Project(extensions=[folder], advice=False)
    if kind == "rule":
        project.check_file(SMALL)
    else:
        orchq.ask("our-loudness", project.knowledge, on="violin")


_ENDINGS = {"turtle": "ttl", "kern": "krn", "midi": "mid"}
KINDS: Mapping[str, Callable[[str, bytes, Path], None]] = {
    **dict.fromkeys(("musicxml", "turtle", "nt", "jsonld", "mei", "kern", "abc", "midi"), _score),
    "html": _page,
    "settings": _settings,
    "baseline": _baseline,
    "facts": _facts,
    "rule": _extension,
    "question": _extension,
}
"""Kinds of input by name."""


def check_seed(kind: str, folder: Path) -> None:
    """Raise unless the whole input is read: a seed that is refused would prove nothing."""
    assert outcome(kind, seed(kind), folder) == "read"
