"""Where the Turtle files of the project are, in a checkout and in an installed package."""

from pathlib import Path

_PACKAGE = Path(__file__).resolve().parent.parent


def data_directory(name: str) -> Path:
    """Return the directory of this name (``ontology`` or ``shapes``).

    An installed wheel carries them inside the package; in a checkout they are at the top level.
    """
    packaged = _PACKAGE / "_data" / name
    return packaged if packaged.is_dir() else _PACKAGE.parent / name


def turtle_files(directory: Path) -> list[Path]:
    """Return the Turtle files below a directory, in a stable order."""
    return sorted(directory.rglob("*.ttl"))
