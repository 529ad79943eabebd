"""The one place where files that a user names are opened: ordinary files, within bounds.

A pipe or a device may hold a reader for ever or never end, whatever name or link leads to it.
"""

import base64
import hashlib
import os
import stat
import unicodedata
from collections.abc import Collection, Iterator
from contextlib import contextmanager
from io import BufferedReader
from pathlib import Path

from orchq.errors import ReadError

_WAITING_FOR_NOBODY = getattr(os, "O_NONBLOCK", 0) | getattr(os, "O_BINARY", 0)


_HASHED = 1 << 28  # more is never read of a file


@contextmanager
def opened(path: Path) -> Iterator[BufferedReader]:
    """Open an ordinary file for reading its bytes.

    Raises ``ReadError`` when it cannot be opened or read, or is no ordinary file.
    """
    try:
        # Looked at before it is opened, since opening a device may act on it, and after, since
        # another may stand there by then.
        _refuse_special(path, path.stat())
        with open(path, "rb", opener=_without_waiting) as stream:
            _refuse_special(path, os.fstat(stream.fileno()))
            yield stream
    except OSError as error:
        raise ReadError(f"{path}: cannot be read: {error.strerror or error}") from error


def read_whole(path: Path, largest: int, what: str) -> bytes:
    """Read a file of at most so many bytes; ``what`` names its kind in the plural.

    Raises ``ReadError`` as ``opened`` does, and for a longer file.
    """
    with opened(path) as stream:
        data = stream.read(largest + 1)
    if len(data) > largest:
        raise ReadError(f"{path}: {what} of more than {largest} bytes are not read")
    return data


def content_name(data: bytes | Path) -> str:
    """Return an IRI for what a file holds (RFC 6920): the same contents have the same, anywhere.

    Raises ``ReadError`` for a path that cannot be read.

    >>> content_name(b"Hello World!")
    'ni:///sha-256-96;f4OxZX_x_FO5LcGB'
    """
    if isinstance(data, Path):
        with opened(data) as stream:
            data = stream.read(_HASHED)
    digest = hashlib.sha256(data).digest()
    return f"ni:///sha-256-96;{base64.urlsafe_b64encode(digest[:12]).decode()}"


def files_below(folder: Path, suffixes: Collection[str]) -> Iterator[Path]:
    """Yield the files below a folder that have such endings, in a stable order.

    Hidden files are passed over, and links to folders, or out of the folder, are not followed.
    """
    root = folder.resolve()
    for above, names, files in os.walk(folder):
        names[:] = sorted(name for name in names if not name.startswith("."))
        for path in (Path(above, name) for name in sorted(files) if not name.startswith(".")):
            leads_out = path.is_symlink() and not path.resolve().is_relative_to(root)
            if path.suffix.lower() in suffixes and path.is_file() and not leads_out:
                yield path


def without_controls(text: str) -> str:
    r"""Leave out control and format characters, which hide or reverse what stands beside them.

    >>> without_controls("ar\u202eco\x00")
    'arco'
    """
    if text.isascii() and text.isprintable():
        return text
    return "".join(each for each in text if unicodedata.category(each) not in {"Cc", "Cf", "Cs"})


def _without_waiting(path: str, flags: int) -> int:
    return os.open(path, flags | _WAITING_FOR_NOBODY)


def _refuse_special(path: Path, found: os.stat_result) -> None:
    if stat.S_ISDIR(found.st_mode):
        raise ReadError(f"{path}: cannot be read: Is a directory")
    if not stat.S_ISREG(found.st_mode):
        raise ReadError(f"{path}: is no ordinary file, and is not read")
