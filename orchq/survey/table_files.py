"""Rows to tables in Parquet and CSV."""

from collections.abc import Iterable, Mapping
from functools import partial
from importlib import import_module
from pathlib import Path
from types import ModuleType
from typing import Any, get_type_hints

from msgspec.structs import fields

from orchq.errors import OrchqError
from orchq.files import write_whole
from orchq.survey.rows import TABLES, Row

Value = str | int | float | bool | None
Values = list[list[Value]]
"""The values of rows, field by field in the order of the row's class."""

_KINDS: Mapping[Any, Any] = {
    int: int,
    int | None: int | None,
    bool: bool,
    float: float | int,
    float | None: float | int | None,
    str | None: str | None,
}
"""What values of a field of some kind are in JSON; of every other kind they are words."""


def values_of(rows: Iterable[Row]) -> Values:
    """The values of rows of one kind."""
    return [[_storable(getattr(row, field.name)) for field in fields(row)] for row in rows]


def fits(rows: object) -> bool:
    """Whether what was kept is the values of rows of every table, each of its kind."""
    return (
        isinstance(rows, dict)
        and rows.keys() == TABLES.keys()
        and all(_all_fit(rows[name], kind) for name, kind in TABLES.items())
    )


def _all_fit(values: object, kind: type[Row]) -> bool:
    kinds = [_KINDS.get(hint, str) for hint in _hints(kind)]
    return isinstance(values, list) and all(
        isinstance(row, list)
        and len(row) == len(kinds)
        and all(map(isinstance, row, kinds))
        and not any(isinstance(v, bool) and k is not bool for v, k in zip(row, kinds, strict=True))
        for row in values
    )


def _hints(kind: type[Row]) -> list[Any]:
    hints = get_type_hints(kind)
    return [hints[field.name] for field in fields(kind)]


def _storable(value: Value) -> Value:
    """A value without such bytes of a file's name as are no text."""
    if isinstance(value, str):
        return value.encode("utf-8", "replace").decode()
    return value


class Tables:
    """All tables, as they grow file by file.

    Raises ``OrchqError`` when the library that writes them is not installed.
    """

    def __init__(self) -> None:
        self._arrow = pyarrow()
        self._schemas = {name: _schema(self._arrow, kind) for name, kind in TABLES.items()}
        self._pieces = {name: [schema.empty_table()] for name, schema in self._schemas.items()}

    def add(self, rows: Mapping[str, Values]) -> None:
        """Add rows to the tables that they are named by."""
        for name, values in rows.items():
            schema = self._schemas[name]
            if values:
                arrays = [
                    self._arrow.array(column, kind)
                    for column, kind in zip(zip(*values, strict=True), schema.types, strict=True)
                ]
                piece = self._arrow.Table.from_arrays(arrays, schema=schema)
                self._pieces[name].append(piece)

    def write(self, folder: Path) -> None:
        """Write each as ``name.parquet`` and ``name.csv``, whole or not at all.

        Raises ``OrchqError`` when a file cannot be written.
        """
        parquet, csv = import_module("pyarrow.parquet"), import_module("pyarrow.csv")
        for name, pieces in self._pieces.items():
            table = self._arrow.concat_tables(pieces).combine_chunks()
            write_whole(folder / f"{name}.parquet", partial(parquet.write_table, table))
            write_whole(folder / f"{name}.csv", partial(csv.write_csv, table))


def _schema(arrow: ModuleType, kind: type[Row]) -> Any:
    types = {
        int: arrow.int32(),
        int | None: arrow.int32(),
        bool: arrow.bool_(),
        float: arrow.float64(),
        float | None: arrow.float64(),
    }
    hints = get_type_hints(kind)
    # What is no number is a word, or one of a few words.
    return arrow.schema(
        [(field.name, types.get(hints[field.name], arrow.string())) for field in fields(kind)]
    )


def pyarrow() -> ModuleType:
    """The library that writes tables. Raises ``OrchqError`` when it is not installed."""
    # Imported only here, since nothing else needs it.
    try:
        return import_module("pyarrow")
    except ImportError as error:
        raise OrchqError(
            "a survey writes its tables with pyarrow: pip install 'orchq[survey]'"
        ) from error
