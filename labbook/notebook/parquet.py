"""Writing Parquet, with pyarrow, which is imported here alone and only when asked for."""

from __future__ import annotations

from collections.abc import Sequence
from decimal import Decimal
from importlib import import_module
from pathlib import Path
from typing import Any

from labbook.model.errors import NotAllowed

ROWS_AT_ONCE = 4096
"""How many rows are held before they are written: memory stays the same for any notebook."""

_TYPES = {
    "string": "string",
    "integer": "int64",
    "number": "float64",
    "boolean": "bool_",
    "date": "date32",
}


def library() -> tuple[Any, Any]:
    """Pyarrow and its Parquet part.

    Raises:
        NotAllowed: it is not installed.
    """
    try:
        # It has no types of its own.
        return import_module("pyarrow"), import_module("pyarrow.parquet")
    except ImportError as error:
        raise NotAllowed(
            "Parquet is written with the library pyarrow, which is not installed.",
            mend="pip install 'emulsion-labbook[parquet]', or leave --parquet out: the CSV tables"
            " hold the same.",
        ) from error


class ParquetTable:
    """One table being written, row by row; a context manager.

    Figures become doubles, which hold about 15 digits; the digits as typed are in the CSV.
    """

    def __init__(self, path: Path, columns: Sequence[tuple[str, str]]) -> None:
        """Opens the file; `columns` are names and types by the words of Table Schema."""
        self._arrow, parquet = library()
        fields = [(name, getattr(self._arrow, _TYPES[type_])()) for name, type_ in columns]
        self._schema = self._arrow.schema(fields)
        self._writer: Any = parquet.ParquetWriter(str(path), self._schema)
        self._held: list[list[Any]] = [[] for _ in columns]

    def __enter__(self) -> ParquetTable:
        """The table itself."""
        return self

    def __exit__(self, *_: object) -> None:
        """Writes what is held and closes the file."""
        self._flush()
        self._writer.close()

    def row(self, cells: Sequence[Any]) -> None:
        """One row; None is a blank."""
        for column, cell in zip(self._held, cells, strict=True):
            column.append(_plain(cell))
        if len(self._held[0]) >= ROWS_AT_ONCE:
            self._flush()

    def _flush(self) -> None:
        arrays = [
            self._arrow.array(cells, type=field.type)
            for cells, field in zip(self._held, self._schema, strict=True)
        ]
        self._writer.write_table(self._arrow.Table.from_arrays(arrays, schema=self._schema))
        self._held = [[] for _ in self._held]


def _plain(cell: Any) -> Any:
    if isinstance(cell, Decimal):
        return float(cell)
    # A half of a surrogate pair has no place in UTF-8.
    return cell.encode("utf-8", "replace").decode("utf-8") if isinstance(cell, str) else cell
