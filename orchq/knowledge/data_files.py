"""Paths of the project's files."""

import os
from collections.abc import Mapping
from functools import lru_cache
from pathlib import Path

from orchq.errors import OrchqError, hint

_PACKAGE = Path(__file__).resolve().parent.parent
_BESIDE_THE_CORE = frozenset({"extensions", "places", "publication", "releases", "translations"})


def data_directory(name: str) -> Path:
    """Return the directory of this name (``ontology`` or ``shapes``).

    An installed wheel carries them inside the package; in a checkout they are at the top level.
    """
    packaged = _PACKAGE / "_data" / name
    return packaged if packaged.is_dir() else _PACKAGE.parent / name


def turtle_files(directory: Path) -> list[Path]:
    """Return the Turtle files in a directory itself, not below it, in a stable order."""
    return sorted(directory.glob("*.ttl"))


def core_files() -> list[Path]:
    """Return the Turtle files of the core: the root that imports them, then folder by folder."""
    top = data_directory("ontology")
    folders = sorted(each for each in top.iterdir() if each.is_dir()) if top.is_dir() else []
    modules = [each for each in folders if each.name not in _BESIDE_THE_CORE]
    return [file for folder in (top, *modules) for file in turtle_files(folder)]


def shipped_extensions() -> Mapping[str, Path]:
    """Return the shipped extensions by name; the core does not depend on them."""
    return {path.stem: path for path in turtle_files(data_directory("ontology") / "extensions")}


def context_file() -> Path:
    """Return the JSON-LD context of the vocabulary."""
    return data_directory("ontology") / "context.jsonld"


@lru_cache(maxsize=1)
def rule_files() -> tuple[Path, ...]:
    """Return the files of the rules that travel with the package."""
    return tuple(turtle_files(data_directory("shapes") / "rules"))


def dataset_file() -> Path:
    """Return the description of what is published; it is not part of the graph."""
    return data_directory("ontology") / "publication" / "dataset.ttl"


def shape_files() -> list[Path]:
    """Return the files of all shapes but those of rules."""
    top = data_directory("shapes")
    return [file for file in sorted(top.rglob("*.ttl")) if file.parent.name != "rules"]


def translation_files() -> list[Path]:
    """Return the files of translated labels and definitions, each called by its language."""
    return turtle_files(data_directory("ontology") / "translations")


def place_files() -> list[Path]:
    """Return the files that list places in scores; they are not part of the graph."""
    return turtle_files(data_directory("ontology") / "places")


def extension_path(given: Path | str) -> Path:
    """Return the path of an extension, given as the bare name of a shipped one or as a path.

    The name of a shipped one takes precedence over the working directory; ``./name`` is always a
    path. Raises ``OrchqError`` with the nearest names when there is neither.
    """
    text, shipped = os.fspath(given), shipped_extensions()
    if text in shipped:
        return shipped[text]
    path = Path(text)
    if path.exists():
        return path
    others = hint(text, shipped)
    raise OrchqError(f"no extension is called {text!r}, nor any file or folder; {others}")
