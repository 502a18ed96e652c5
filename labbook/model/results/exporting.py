"""Result of `export`: the tables that were written."""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True, slots=True, kw_only=True)
class ExportedTable:
    """A table: its name, how many rows and columns were written."""

    name: str
    rows: int
    columns: int


@dataclass(frozen=True, slots=True, kw_only=True)
class Exported:
    """The folder, its tables, and whether suppliers, prices and people are in it.

    `without` names the private columns that were left out.
    """

    folder: str
    tables: tuple[ExportedTable, ...]
    dictionary: str
    private: bool
    parquet: bool
    without: tuple[str, ...]
