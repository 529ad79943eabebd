"""The scores that are open: where they lie, what was chosen, and the page about each."""

import asyncio
import secrets
import shutil
import tempfile
from collections.abc import Iterator, Mapping, Sequence
from pathlib import Path, PurePosixPath, PureWindowsPath
from typing import Any, Literal

from msgspec import Struct, field

from orchq.errors import OrchqError
from orchq.inputs import without_controls

MOST_SCORES = 40
"""Scores that may be open at once."""

LARGEST_UPLOAD = 200_000_000
"""Bytes of a score that is dropped; the reader takes no more either."""

LARGEST_ALL = 1_000_000_000
"""Bytes of all dropped scores together."""

_LONGEST_NAME = 120

Progress = Literal["waiting", "checking", "engraving", "ready", "failed"]
"""How far a check has come."""


class Choices(Struct, frozen=True):
    """What a score is judged by; empty where the settings or the score decide.

    ``fingering`` is true where the likeliest fingering is to be seen.
    """

    level: str = ""
    trust: str = ""
    extensions: tuple[str, ...] = ()
    players: Mapping[str, int] = field(default_factory=dict)
    fingering: bool = False


class OpenedScore(Struct, eq=False):
    """A score and what is known of it.

    ``followed`` is true when it lies where its owner saves it, and false for a copy of what was
    dropped. ``version`` counts the pages made of it; ``report`` is the last one, ``found``,
    ``accepted``, ``standing`` and ``changes`` are as ``orchq.app.jobs.check`` answers them,
    ``cause`` is why it was last checked, and ``remark`` what was last done with it.
    """

    key: str
    path: Path
    followed: bool
    choices: Choices = Choices()
    version: int = 0
    state: Progress = "waiting"
    report: str = ""
    engraved: bool = False
    error: str = ""
    found: Sequence[Mapping[str, Any]] = ()
    accepted: Sequence[Mapping[str, Any]] = ()
    standing: Sequence[Mapping[str, Any]] | None = None
    changes: Mapping[str, Any] | None = None
    parts: Sequence[Mapping[str, str]] = ()
    cause: str = ""
    remark: str = ""
    work: asyncio.Task[None] | None = None

    @property
    def name(self) -> str:
        """The name of the file."""
        return self.path.name


class Shelf:
    """All open scores; ``folder`` holds those that were dropped, and goes with the server."""

    def __init__(self) -> None:
        self.folder = Path(tempfile.mkdtemp(prefix="orchq-"))  # for this user alone
        self._scores: dict[str, OpenedScore] = {}

    def __iter__(self) -> Iterator[OpenedScore]:
        return iter(tuple(self._scores.values()))

    def __len__(self) -> int:
        return len(self._scores)

    def get(self, key: str) -> OpenedScore | None:
        """The score of this key, which is part of its address."""
        return self._scores.get(key)

    def room(self) -> int:
        """The bytes that dropped scores may still take.

        Raises ``OrchqError`` when too many scores are open.
        """
        if len(self._scores) >= MOST_SCORES:
            raise OrchqError(f"{MOST_SCORES} scores are open; close one first")
        taken = sum(each.stat().st_size for each in self.folder.rglob("*") if each.is_file())
        return min(LARGEST_UPLOAD, LARGEST_ALL - taken)

    def place(self, name: str) -> tuple[str, Path]:
        """A new key, and the path at which a dropped score of this name is to be written."""
        key = secrets.token_hex(8)
        folder = self.folder / key
        folder.mkdir(mode=0o700)
        return key, folder / plain_name(name)

    def dropped(self, key: str, path: Path) -> OpenedScore:
        """Add a score that was written to its place."""
        return self._added(OpenedScore(key, path, followed=False))

    def followed(self, path: Path) -> OpenedScore:
        """Add a score that lies where its owner saves it; one that is open already stays.

        Raises ``OrchqError`` when too many scores are open.
        """
        for score in self._scores.values():
            if score.followed and score.path == path:
                return score
        self.room()
        return self._added(OpenedScore(secrets.token_hex(8), path, followed=True))

    def close(self, score: OpenedScore) -> None:
        """Forget a score, and remove the copy of one that was dropped."""
        if score.work is not None:
            score.work.cancel()
        del self._scores[score.key]
        self.discard(score.key)

    def discard(self, key: str) -> None:
        """Remove what lies at the place of this key."""
        shutil.rmtree(self.folder / key, ignore_errors=True)

    def end(self) -> None:
        """Forget everything."""
        for score in tuple(self._scores.values()):
            self.close(score)
        shutil.rmtree(self.folder, ignore_errors=True)

    def _added(self, score: OpenedScore) -> OpenedScore:
        self._scores[score.key] = score
        return score


def plain_name(given: str) -> str:
    r"""The last part of a name, safe for a file; only its ending says what it holds.

    >>> plain_name("../../etc/passwd"), plain_name("C:\\scores\\quartet.mxl"), plain_name("..")
    ('passwd', 'quartet.mxl', 'score')
    """
    name = PureWindowsPath(PurePosixPath(without_controls(given)).name).name
    name = "".join("_" if each in '<>:"/\\|?*' else each for each in name).strip(". ")
    path = PurePosixPath(name)
    return f"{path.stem[:_LONGEST_NAME]}{path.suffix[:20]}" if name else "score"
