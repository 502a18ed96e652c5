"""A table of cells as it stood in a file, before anybody says what it means."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

CellKind = Literal["text", "number", "date", "formula", "error"]


@dataclass(frozen=True, slots=True)
class Cell:
    """One cell.

    `text` is what was typed; of a `number`, which a spreadsheet keeps as such, the digits with a
    point, followed by `%` or a unit where the cell shows one. A `formula` is one whose result the
    file doesn't hold; it is text here and is never worked out.
    """

    text: str = ""
    kind: CellKind = "text"


@dataclass(frozen=True, slots=True, kw_only=True)
class Grid:
    """The used part of one table: `rows[0]` is row 1 of the file.

    `sheet` is the sheet's name, empty for a text file; `said` is what was assumed to read the file.
    """

    file: str
    sheet: str = ""
    rows: tuple[tuple[Cell, ...], ...] = ()
    said: tuple[str, ...] = ()
