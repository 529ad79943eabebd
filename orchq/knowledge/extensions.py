"""Extensions: user-supplied additions to the graph, read within bounds and never run or fetched."""

import os
from collections.abc import Iterable, Iterator, Mapping
from pathlib import Path

from msgspec import Struct, field
from pyoxigraph import NamedNode, Quad

from orchq.errors import ReadError
from orchq.inputs import read_whole
from orchq.knowledge.data_files import extension_path
from orchq.knowledge.store import TRIPLE_SUFFIXES, parse_triples, read_triples
from orchq.terms import RDF_TYPE, SH, oq

LARGEST = 10_000_000
"""Largest file of an extension that is read, in bytes."""

MOST_FILES = 200
"""Most files and folders of one extension."""

QUESTION_SUFFIX = ".rq"

_IN_FOLDERS = tuple(TRIPLE_SUFFIXES - {".json"})  # which may hold anything

_RULE = oq("Rule")


class Extension(Struct, frozen=True):
    """One extension, as read from a name or a path.

    ``facts`` go into the graph; ``rules`` are the triples of the files that describe rules, and
    ``questions`` the texts of questions, by file. ``name`` is the name or path as given, and
    ``changes`` are the statements by which it changes the core, abbreviated.
    """

    facts: tuple[Quad, ...] = ()
    rules: Mapping[Path, tuple[Quad, ...]] = field(default_factory=dict)
    questions: Mapping[Path, str] = field(default_factory=dict)
    name: str = ""
    changes: tuple[str, ...] = ()


def read_extension(given: Path | str) -> Extension:
    """Read a folder, a file, or a shipped extension by name.

    Raises ``OrchqError`` when there is none, and ``ReadError`` naming the file, and the line where
    there is one, when it cannot be read or is refused.
    """
    facts: list[Quad] = []
    rules: dict[Path, tuple[Quad, ...]] = {}
    questions: dict[Path, str] = {}
    for file in files_of(given):
        found = read_file(file)
        if isinstance(found, str):
            questions[file] = found
        elif describes_rules(found):
            rules[file] = tuple(found)
        else:
            facts.extend(found)
    return Extension(tuple(facts), rules, questions, os.fspath(given))


def files_of(given: Path | str) -> list[Path]:
    """The files of an extension; raises like ``read_extension``."""
    return extension_files(extension_path(given))


def fact_files(given: Path | str) -> list[Path]:
    """The files of an extension whose triples enter the graph; raises like ``read_extension``."""
    triples = [file for file in files_of(given) if file.suffix.lower() != QUESTION_SUFFIX]
    return [file for file in triples if not describes_rules(read_triples(file))]


def read_file(file: Path) -> str | list[Quad]:
    """Read a file of an extension: the text of a question, or triples.

    Raises ``ReadError`` when it is too large or does not match its file ending.
    """
    if file.suffix.lower() != QUESTION_SUFFIX:
        return parse_triples(read_whole(file, LARGEST, "triples"), file)
    try:
        return read_whole(file, LARGEST, "questions").decode("utf-8-sig")
    except UnicodeDecodeError as error:
        raise ReadError(f"{file}: is not text in UTF-8") from error


def describes_rules(quads: Iterable[Quad]) -> bool:
    """Whether a file describes rules and their shapes: its triples stay out of the graph."""
    return any(
        quad.predicate.value.startswith(SH)
        or (
            quad.predicate == RDF_TYPE
            and isinstance(quad.object, NamedNode)
            and (quad.object == _RULE or quad.object.value.startswith(SH))
        )
        for quad in quads
    )


def extension_files(path: Path) -> list[Path]:
    """Return the files of an extension: itself, or triples and questions in a folder.

    Raises ``ReadError`` for a folder with nothing to read or too much, and for links out of it.
    """
    if not path.is_dir():
        known = (*sorted(TRIPLE_SUFFIXES), QUESTION_SUFFIX)
        if path.suffix.lower() not in known:
            raise ReadError(
                f"{path}: an extension is a folder, or a file that ends in {', '.join(known)}"
            )
        return [path]
    files = list(_within(path))
    if not files:
        raise ReadError(f"{path}: the folder holds no triples (.ttl) and no question (.rq)")
    return files


def _within(folder: Path) -> Iterator[Path]:
    """Return the files of triples and questions below a folder, in a stable order.

    A link within the folder is skipped, since its target is found anyway.
    """
    root = folder.resolve()
    seen = 0
    for place, names, files in os.walk(folder):
        names[:] = sorted(name for name in names if not name.startswith("."))
        endings = (*_IN_FOLDERS, QUESTION_SUFFIX)
        kept = sorted(f for f in files if not f.startswith(".") and f.lower().endswith(endings))
        seen += len(names) + len(kept)
        if seen > MOST_FILES:
            raise ReadError(f"{folder}: holds more than {MOST_FILES} files and folders")
        for path in (Path(place, name) for name in (*names, *kept)):
            if path.is_symlink():
                if not path.resolve().is_relative_to(root):
                    raise ReadError(f"{path}: leads out of the folder and is not followed")
            elif path.name in kept:
                yield path
