"""The files of a survey: which there are, and what each is called in the tables."""

import os
from collections.abc import Collection, Sequence
from pathlib import Path

from msgspec import Struct

from orchq.errors import OrchqError
from orchq.inputs import files_below


class ScoreFile(Struct, frozen=True):
    """A file to be measured.

    ``work`` is its path below the folder that was given, with slashes; ``collection`` is that
    folder's name; ``folder`` is the one directly below that the file lies in, if any.
    """

    path: Path
    work: str
    collection: str
    folder: str = ""


def score_files(given: Sequence[Path], suffixes: Collection[str]) -> list[ScoreFile]:
    """List the files that were given, and those with such endings in folders, sorted by name.

    Hidden files in folders are passed over, and links to folders, or out of the one that was given,
    are not followed. Files given one by one are named by their path below the folder that they have
    in common. Raises ``OrchqError`` when there is none, or two would be called the same.
    """
    folders = [path for path in given if path.is_dir()]
    single = [path for path in given if not path.is_dir()]
    found = [_named(path, folder) for folder in folders for path in files_below(folder, suffixes)]
    if single:
        above = Path(os.path.commonpath([path.absolute().parent for path in single]))
        found += [_named(path.absolute(), above, path) for path in single]
    by_work: dict[str, ScoreFile] = {}
    for file in found:
        other = by_work.setdefault(file.work, file)
        if other.path.absolute() != file.path.absolute():
            raise OrchqError(
                f"{file.path} and {other.path} would both be called {file.work}; "
                "give the folder above both"
            )
    if not by_work:
        raise OrchqError(f"{', '.join(map(str, given))}: no score lies there")
    return [by_work[work] for work in sorted(by_work)]


def _named(path: Path, folder: Path, as_given: Path | None = None) -> ScoreFile:
    below = path.relative_to(folder)
    first = below.parts[0] if len(below.parts) > 1 else ""
    return ScoreFile(as_given or path, below.as_posix(), folder.resolve().name, first)
