"""Small scores written in the tests, read with the real graph."""

from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest

from orchq.knowledge import Knowledge, load
from orchq.readers import ReadLimits, read_score
from orchq.score import Part, Score

ATTRIBUTES = (
    "<attributes><divisions>4</divisions>"
    "<time><beats>4</beats><beat-type>4</beat-type></time></attributes>"
)


@pytest.fixture(scope="session")
def knowledge() -> Knowledge:
    return load()


@pytest.fixture
def read(tmp_path: Path, knowledge: Knowledge) -> Callable[..., Score]:
    """Read a file with this content."""

    def call(content: str | bytes, name: str = "score.musicxml", **limits: int) -> Score:
        path = tmp_path / name
        path.write_bytes(content if isinstance(content, bytes) else content.encode("utf-8"))
        return read_score(path, knowledge, ReadLimits(**limits))

    return call


@pytest.fixture(scope="session")
def document() -> Callable[..., str]:
    """A maker of partwise scores from a list of (part name or score-part content, music)."""

    def make(*parts: tuple[str, str], before: str = "") -> str:
        listed = "".join(
            f'<score-part id="P{number}">'
            + (name if name.startswith("<") else f"<part-name>{name}</part-name>")
            + "</score-part>"
            for number, (name, _) in enumerate(parts, 1)
        )
        music = "".join(
            f'<part id="P{number}">{content}</part>' for number, (_, content) in enumerate(parts, 1)
        )
        return (
            f'<score-partwise version="4.0">{before}<part-list>{listed}</part-list>{music}'
            "</score-partwise>"
        )

    return make


@pytest.fixture
def part(read: Callable[..., Score], document: Callable[..., str]) -> Callable[..., Part]:
    """Read one part; each argument is the content of a measure, 4/4 in quarters of 4 divisions."""

    def call(*measures: str, name: str = "Violin") -> Part:
        music = "".join(
            f'<measure number="{number}">{ATTRIBUTES if number == 1 else ""}{content}</measure>'
            for number, content in enumerate(measures, 1)
        )
        return read(document((name, music))).parts[0]

    return call


@pytest.fixture(scope="session")
def note() -> Callable[..., str]:
    """A maker of notes such as ``note("A4", 4)``; ``first`` and ``last`` are further children."""

    def make(pitch: str, duration: int | None = 4, last: str = "", first: str = "") -> str:
        alter = {"#": "<alter>1</alter>", "b": "<alter>-1</alter>"}.get(pitch[1:-1], "")
        length = "" if duration is None else f"<duration>{duration}</duration>"
        return (
            f"<note>{first}<pitch><step>{pitch[0]}</step>{alter}<octave>{pitch[-1]}</octave>"
            f"</pitch>{length}{last}</note>"
        )

    return make


@pytest.fixture(scope="session")
def direction() -> Callable[..., str]:
    """A maker of directions from the content of their direction types."""

    def make(*types: str, after: str = "") -> str:
        kinds = "".join(f"<direction-type>{kind}</direction-type>" for kind in types)
        return f"<direction>{kinds}{after}</direction>"

    return make


@pytest.fixture(scope="session")
def slugs() -> Callable[[Any], Any]:
    """Local names of directives: of a mark in printed order, of an event as a set."""

    def call(holder: Any) -> Any:
        if hasattr(holder, "directives"):
            return [iri.rsplit("/", 1)[1] for iri in holder.directives]
        return {iri.rsplit("/", 1)[1] for iri in holder.marks}

    return call
