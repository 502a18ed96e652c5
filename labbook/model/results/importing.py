"""What `formula import` made of a maker's table, before and after anything is written."""

from __future__ import annotations

from dataclasses import dataclass
from decimal import Decimal
from typing import Literal

from labbook.model.results.formulas import FormulaWritten

Known = Literal["sheet", "starter", ""]


@dataclass(frozen=True, slots=True, kw_only=True)
class Told:
    """A sentence about a row of the file; `row` is None where it is about the whole."""

    text: str
    row: int | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Named:
    """The ingredient that a name in the file means.

    `known` says where there is a sheet: in the notebook, among the starters, or nowhere; then
    `near` are names that look like it. `said` is what was assumed.
    """

    ingredient: str
    known: Known = ""
    near: tuple[str, ...] = ()
    said: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class SheetLine:
    """A line of the formula as it would be written, with what the file says of it.

    `amount` is the file's text with its unit; `percent` what would be written, None where the file
    leaves it open. `on_top` marks what was added on top of 100.
    """

    row: int
    phase: str
    written: str
    named: Named
    amount: str
    percent: Decimal | None
    qs: bool = False
    adjust: str = ""
    role: str = ""
    note: str = ""
    on_top: bool = False


@dataclass(frozen=True, slots=True, kw_only=True)
class SheetRead:
    """A maker's table as a formula.

    `total` is what the percents add up to, None with a q.s. line or an open amount; `in_file` the
    sum of the file's own amounts with their unit. `assumed` is all that was taken for granted,
    `unclear` what has to be settled before anything can be written, `kept` rows that are no lines
    and become notes. `size` is a batch size such as `500 g`, where the file has masses.
    """

    file: str
    sheet: str
    title: str
    emulsion: str
    phases: tuple[tuple[str, str], ...]
    lines: tuple[SheetLine, ...]
    in_file: str
    total: Decimal | None
    size: str = ""
    assumed: tuple[Told, ...] = ()
    unclear: tuple[Told, ...] = ()
    kept: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class Imported:
    """A reading and, once confirmed, the formula file; `command` writes what is shown."""

    read: SheetRead
    command: str
    ready: bool
    written: FormulaWritten | None = None
