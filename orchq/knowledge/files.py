"""Files: where those of the project are, and reading others within bounds."""

from pathlib import Path

from orchq.errors import ReadError

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


def read_whole(path: Path, largest: int, what: str) -> bytes:
    """Read a file of at most so many bytes; ``what`` names its kind in the plural.

    Raises ``ReadError`` when it cannot be read or is longer.
    """
    try:
        with path.open("rb") as stream:
            data = stream.read(largest + 1)
    except OSError as error:
        raise ReadError(f"{path}: cannot be read: {error.strerror}") from error
    if len(data) > largest:
        raise ReadError(f"{path}: {what} of more than {largest} bytes are not read")
    return data
