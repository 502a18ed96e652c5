"""Reading a sheet of an XLSX workbook (ECMA-376) through openpyxl, within limits.

The library is asked for values only: no macros, no links, no formulas worked out. It is imported
here alone and late (about 90 ms).
"""

from __future__ import annotations

import io
import re
import struct
import warnings
import zipfile
import zlib
from collections.abc import Iterator
from datetime import date, datetime, time, timedelta
from decimal import Decimal
from typing import Any

from labbook.model.errors import Unclear, Unreadable
from labbook.model.grid import Cell, Grid
from labbook.model.quantities import SPELLINGS
from labbook.notebook.spreadsheet import MOST_COLUMNS, MOST_ROWS, rows_of

MOST_UNPACKED = 40_000_000
MOST_RATIO = 200
MOST_PARTS = 2_000
"""What a workbook may unpack to in bytes, how many times its packed size, and into how many parts.

Deflate packs at most about 1 : 1000; real workbooks stay below 1 : 60 (seen, no source).
"""

_SMALL_PART = 100_000
_PACKED = {zipfile.ZIP_STORED, zipfile.ZIP_DEFLATED}
"""By the standard's packaging part (ECMA-376 part 2) nothing else is in a workbook."""

_DAMAGED = (
    *(zipfile.BadZipFile, NotImplementedError, RuntimeError, EOFError, OSError),
    # What unpacking raises of itself: a table of contents that points before the file's start, a
    # name that is no text, a stream that breaks off.
    *(ValueError, zlib.error, struct.error),
)
_DIGITS = ".15g"
"""A spreadsheet keeps binary figures and shows 15 digits of them: 0.1 + 0.2 shows 0.3."""

_DOCTYPES = tuple("<!DOCTYPE".encode(code) for code in ("utf-8", "utf-16-le", "utf-16-be"))
_ENTITIES = tuple("<!ENTITY".encode(code) for code in ("utf-8", "utf-16-le", "utf-16-be"))
_LITERAL = re.compile(r'"\s*([^"]+?)\s*"')
_UNITS = {s: unit for unit in ("g", "kg", "mg", "oz", "lb", "ml", "%") for s in SPELLINGS[unit]}


def read_workbook(name: str, raw: bytes, sheet: str = "") -> Grid:
    """The table of one sheet.

    Raises:
        Unreadable: it is no XLSX workbook, is damaged, or goes beyond a limit.
        Unclear: it has no sheet of that name.
    """
    said = _inspected(name, raw)
    try:
        with warnings.catch_warnings():
            warnings.simplefilter("ignore")  # the library warns of styles that it leaves out
            chosen, rows, others = _rows(name, raw, sheet)
    except (Unclear, Unreadable):
        raise
    except Exception as error:  # a damaged file makes the library fail in any way
        raise Unreadable(
            f"{name} can't be read as a workbook: {type(error).__name__}.",
            mend="Open it in a spreadsheet program and save it anew as XLSX or CSV.",
        ) from error
    if others and not sheet:
        said.append(f"the first sheet, {chosen}, was read; there are also {', '.join(others)}")
    return Grid(file=name, sheet=chosen, rows=rows, said=tuple(said))


# Before a parser sees it --------------------------------------------------------------------------


def _inspected(name: str, raw: bytes) -> list[str]:
    """What there is to say of the packed file; refuses what no maker's workbook looks like."""
    try:
        with zipfile.ZipFile(io.BytesIO(raw)) as packed:
            parts = packed.infolist()
            _within_limits(name, parts)
            if {part.compress_type for part in parts} - _PACKED:
                raise Unreadable(
                    f"{name} is packed in a way that no spreadsheet program uses.",
                    mend="Save it anew as XLSX or CSV.",
                )
            names = {part.filename for part in parts}
            if "[Content_Types].xml" not in names:
                raise Unreadable(
                    f"{name} is no XLSX workbook.",
                    mend="Save the table as XLSX or CSV.",
                )
            for part in parts:
                _no_entities(name, packed.read(part))
    except _DAMAGED as error:
        raise Unreadable(
            f"{name} is damaged or locked: {error}.", mend="Save it anew as XLSX or CSV."
        ) from error
    said = []
    if any(part.startswith("xl/externalLinks/") for part in names):
        said.append("its links to other files were not followed; figures are those it keeps")
    if any(part.endswith("vbaProject.bin") for part in names):
        said.append("its macros were not run")
    return said


def _within_limits(name: str, parts: list[zipfile.ZipInfo]) -> None:
    unpacked = sum(part.file_size for part in parts)
    steep = any(
        part.file_size > _SMALL_PART and part.file_size > MOST_RATIO * max(part.compress_size, 1)
        for part in parts
    )
    if len(parts) > MOST_PARTS or unpacked > MOST_UNPACKED or steep:
        raise Unreadable(
            f"{name} would unpack to {unpacked / 1_000_000:.0f} MB in {len(parts)} parts, "
            "far more than a formula needs; it was not unpacked.",
            mend="Copy the formula's table into a new workbook, or save it as CSV.",
        )


def _no_entities(name: str, content: bytes) -> None:
    if any(mark in content for mark in (*_DOCTYPES, *_ENTITIES)):
        raise Unreadable(
            f"{name} declares entities of XML, which no spreadsheet program writes.",
            mend="Open it in a spreadsheet program and save it anew.",
        )


# The sheet ----------------------------------------------------------------------------------------


def _rows(
    name: str, raw: bytes, wanted: str
) -> tuple[str, tuple[tuple[Cell, ...], ...], tuple[str, ...]]:
    """The chosen sheet's name, its rows, and the names of other visible sheets."""
    from openpyxl import load_workbook

    values = load_workbook(io.BytesIO(raw), read_only=True, data_only=True, keep_links=False)
    formulas = load_workbook(io.BytesIO(raw), read_only=True, data_only=False, keep_links=False)
    try:
        sheets = {one.title: one for one in values.worksheets}
        visible = [one.title for one in values.worksheets if one.sheet_state == "visible"]
        if wanted and wanted not in sheets:
            raise Unclear(
                f"{name} has no sheet {wanted}.", mend=f"--sheet with one of: {', '.join(sheets)}"
            )
        read: dict[str, tuple[tuple[Cell, ...], ...]] = {}
        for title in [wanted] if wanted else visible:
            read[title] = rows_of(name, _cells(sheets[title], formulas[title]))
            if read[title]:
                break
        else:
            raise Unreadable(f"{name} has nothing in it.", mend="Is it the right file?")
        chosen = next(reversed(read))
        return chosen, read[chosen], tuple(one for one in visible if one != chosen)
    finally:
        values.close()
        formulas.close()


def _cells(values: Any, formulas: Any) -> Iterator[list[Cell]]:
    """The cells row by row; the size that a sheet claims for itself may be wrong."""
    span = {"min_row": 1, "max_row": MOST_ROWS + 1, "max_col": MOST_COLUMNS + 1}
    for sheet in (values, formulas):
        sheet.reset_dimensions()
    for row, other in zip(values.iter_rows(**span), formulas.iter_rows(**span), strict=False):
        yield [_cell(one, two) for one, two in zip(row, other, strict=False)]


def _cell(found: Any, formula: Any) -> Cell:
    value = found.value
    if value is None:
        held = formula.value
        return Cell() if held is None else Cell(str(getattr(held, "text", held)).strip(), "formula")
    if isinstance(value, bool):
        return Cell(str(value).upper())
    if isinstance(value, int | float):
        return _figure(value, str(found.number_format or ""))
    if isinstance(value, date | datetime | time | timedelta):
        return Cell(str(value).removesuffix(" 00:00:00"), "date")
    text = str(value).strip()
    return Cell(text, "error" if found.data_type == "e" else "text")


def _figure(value: int | float, shown_as: str) -> Cell:
    """A figure as the sheet shows it: 0.145 in the format `0.0 %` is 14.5 %."""
    exact = Decimal(format(value, _DIGITS))
    bare = _LITERAL.sub("", shown_as)
    if "%" in bare:
        return Cell(f"{(exact * 100).normalize():f}%", "number")
    unit = next((u for m in _LITERAL.findall(shown_as) if (u := _UNITS.get(m.strip()))), "")
    return Cell(f"{exact:f} {unit}".strip(), "number")
