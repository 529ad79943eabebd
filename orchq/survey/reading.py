"""The tables of surveys, read back."""

from collections.abc import Iterable
from dataclasses import replace
from importlib import import_module
from pathlib import Path

from orchq.errors import OrchqError, ReadError
from orchq.survey.model import TABLES, Row


def read_surveys(directories: Iterable[Path]) -> dict[str, list[Row]]:
    """Read what ``orchq survey`` wrote into these directories, rows by the name of their table.

    Works are named by their directory too, since two collections may call a file alike.

    Raises ``ReadError`` naming a table that is missing or is none, ``OrchqError`` when pyarrow is
    not installed.
    """
    try:
        arrow, parquet = import_module("pyarrow"), import_module("pyarrow.parquet")
    except ImportError as error:
        raise OrchqError("tables are read with pyarrow: pip install 'orchq[survey]'") from error
    tables: dict[str, list[Row]] = {name: [] for name in TABLES}
    for directory in directories:
        for name, kind in TABLES.items():
            path = directory / f"{name}.parquet"
            try:
                rows = [kind(**row) for row in parquet.read_table(path).to_pylist()]
            except OSError as error:
                raise ReadError(f"{path}: cannot be read: no table of a survey") from error
            except (arrow.ArrowException, TypeError) as error:
                raise ReadError(f"{path}: is no such table as orchq survey writes") from error
            tables[name] += (replace(row, work=f"{directory.name}/{row.work}") for row in rows)
    return tables
