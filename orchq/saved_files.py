"""Files that are watched: which of them were saved since they were last looked at."""

from collections.abc import Iterable
from pathlib import Path

_Stamp = tuple[int, int, int] | None
"""Modification time, size and inode of a file; ``None`` while it does not exist."""


class SavedFiles:
    """Files that are looked at again and again; more may be added, and any left out."""

    def __init__(self, files: Iterable[Path] = ()) -> None:
        self._seen: dict[Path, _Stamp] = {}
        self._settling: dict[Path, _Stamp] = {}
        for file in files:
            self.add(file)

    def add(self, file: Path) -> None:
        """Watch a file from now on."""
        self._seen[file] = self._settling[file] = _stamp(file)

    def leave(self, file: Path) -> None:
        """Watch a file no more."""
        self._seen.pop(file, None)
        self._settling.pop(file, None)

    def look(self) -> list[Path]:
        """The files that have changed, and stayed the same since the last look."""
        saved = []
        for file, seen in self._seen.items():
            stamp = _stamp(file)
            if stamp != seen and stamp == self._settling[file]:
                saved.append(file)
                self._seen[file] = stamp
            self._settling[file] = stamp
        return saved


def _stamp(file: Path) -> _Stamp:
    try:
        state = file.stat()
    except OSError:
        return None
    return state.st_mtime_ns, state.st_size, state.st_ino
