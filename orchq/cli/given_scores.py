"""The scores that a command is given: files, folders, and standard input."""

import sys
import tempfile
from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from pathlib import Path

from orchq.errors import OrchqError, ReadError
from orchq.inputs import files_below
from orchq.readers import FOREIGN_FORMATS, MUSICXML_SUFFIXES, ReadLimits

_STANDARD_INPUT = Path("-")


@contextmanager
def given_scores(places: Sequence[Path]) -> Iterator[list[Path]]:
    """The files given, those in the folders given, and for ``-`` what standard input holds.

    Standard input is MusicXML, compressed or not, and stands in a file of its own as long as the
    context lasts. Raises ``OrchqError`` for a folder without a score, and where it is too long.
    """
    with tempfile.TemporaryDirectory() as folder:
        files: list[Path] = []
        for place in places:
            if place == _STANDARD_INPUT:
                files.append(_spooled(Path(folder)))
            elif place.is_dir():
                below = list(files_below(place, {*MUSICXML_SUFFIXES, *FOREIGN_FORMATS}))
                if not below:
                    raise OrchqError(f"{place}: holds no scores")
                files += below
            else:
                files.append(place)
        yield files


def _spooled(folder: Path) -> Path:
    largest = ReadLimits().max_bytes
    data = sys.stdin.buffer.read(largest + 1)
    if len(data) > largest:
        raise ReadError(f"standard input: is larger than {largest} bytes")
    if not data:
        raise ReadError("standard input: is empty")
    file = folder / "standard-input.musicxml"
    file.write_bytes(data)
    return file
