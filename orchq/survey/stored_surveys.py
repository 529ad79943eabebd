"""The tables of surveys, read back."""

from collections.abc import Collection, Iterable
from importlib import import_module
from pathlib import Path

from msgspec.structs import replace

from orchq.errors import ReadError
from orchq.survey.rows import TABLES, Row
from orchq.survey.table_files import pyarrow


def read_surveys(folders: Iterable[Path], names: Collection[str] = TABLES) -> dict[str, list[Row]]:
    """Read what ``orchq survey`` wrote into these folders: rows by the name of their table.

    Works are called by their folder too, since files of two collections may be called alike.
    Raises ``ReadError`` naming a table that is missing or that is none, and ``OrchqError`` when
    the library for tables is not installed.
    """
    arrow, parquet = pyarrow(), import_module("pyarrow.parquet")
    tables: dict[str, list[Row]] = {name: [] for name in names}
    for folder in folders:
        for name in names:
            kind, path = TABLES[name], folder / f"{name}.parquet"
            try:
                rows = [kind(**row) for row in parquet.read_table(path).to_pylist()]
            except (OSError, TypeError, arrow.ArrowException) as error:
                raise ReadError(f"{path}: is not a table written by orchq survey") from error
            tables[name] += [replace(row, work=f"{folder.name}/{row.work}") for row in rows]
    return tables
