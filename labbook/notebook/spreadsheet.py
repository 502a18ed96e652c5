"""Reading a maker's table from a file: CSV in any usual spelling, or an XLSX workbook.

The file comes from anywhere, so it counts as hostile: size, rows, columns and what a workbook
unpacks to are limited before a parser sees it, declarations of XML entities are refused (XML 1.0,
4.2: they can grow without bound), links to other files are not followed, macros and formulas are
not run. What a table means is `labbook.trade.sheet_reading`'s matter.
"""

from __future__ import annotations

import csv
import io
import re
from collections.abc import Iterable
from itertools import pairwise
from pathlib import Path

from labbook.model.errors import Unreadable
from labbook.model.grid import Cell, Grid

MOST_BYTES = 5_000_000
MOST_ROWS = 2_000
MOST_COLUMNS = 60
MOST_TEXT = 2_000
"""Limits of a file, of its rows and columns, and of the characters of a cell."""

DELIMITERS = {"\t": "tabs", ";": "semicolons", "|": "upright strokes", ",": "commas"}
"""In the order in which they win where two would do: a comma may be a decimal comma."""

_ZIP = b"PK\x03\x04"
_OLD_BINARY = b"\xd0\xcf\x11\xe0\xa1\xb1\x1a\xe1"
_SEP_LINE = re.compile(r'"?sep=([;,\t|])"?\n')


def read_grid(path: Path, *, sheet: str = "") -> Grid:
    """The table of a file.

    Args:
        path: a CSV or XLSX file, told apart by its content.
        sheet: the sheet of a workbook; empty takes the first visible one that isn't empty.

    Raises:
        Unreadable: it is no such file, is damaged, or goes beyond a limit.
    """
    raw = _bytes_of(path)
    if raw.startswith(_ZIP):
        from labbook.notebook.workbook import read_workbook

        return read_workbook(path.name, raw, sheet)
    if raw.startswith(_OLD_BINARY):
        raise Unreadable(
            f"{path.name} is a workbook of the old binary kind, or protected by a password.",
            where=str(path),
            mend="Save it as XLSX or CSV without a password.",
        )
    if sheet:
        raise Unreadable(
            f"{path.name} is a text file and has no sheets.", mend=f"Leave --sheet {sheet} out."
        )
    text, said = _decoded(path, raw)
    return _table(path, text, said)


def _bytes_of(path: Path) -> bytes:
    if not path.is_file():
        what = "is a folder" if path.is_dir() else "is no file here"
        raise Unreadable(f"{path} {what}.", where=str(path), mend="Name a CSV or XLSX file.")
    try:
        with path.open("rb") as file:
            raw = file.read(MOST_BYTES + 1)
    except OSError as error:
        raise Unreadable(f"{path} can't be read: {error.strerror}.", where=str(path)) from error
    if len(raw) > MOST_BYTES:
        raise Unreadable(
            f"{path.name} has more than {MOST_BYTES // 1_000_000} MB; a formula has a few lines.",
            where=str(path),
            mend="Save the formula's table alone in a file of its own.",
        )
    return raw


def _decoded(path: Path, raw: bytes) -> tuple[str, list[str]]:
    """The text and what was assumed about its bytes."""
    said: list[str] = []
    if raw.startswith((b"\xff\xfe", b"\xfe\xff")):
        text = raw.decode("utf-16", "replace")
        said.append("the file is in UTF-16")
    else:
        try:
            text = raw.decode("utf-8-sig")
        except UnicodeDecodeError:
            # Every byte of Latin-1 is a letter; Windows-1252 has letters where it has controls.
            text = raw.decode("cp1252", "replace").replace("�", "?")
            said.append("the file is not in UTF-8; read as Western European: look at the accents")
    if "\0" in text:
        raise Unreadable(
            f"{path.name} has NUL bytes: it is no table of text.",
            where=str(path),
            mend="Save the table as CSV in UTF-8, or as XLSX.",
        )
    return text.replace("\r\n", "\n").replace("\r", "\n"), said


def _table(path: Path, text: str, said: list[str]) -> Grid:
    if told := _SEP_LINE.match(text):
        delimiter = told[1]
        text = "\n" + text[told.end() :]  # an empty row, so that row numbers stay
    else:
        delimiter = _delimiter(text)
    found = rows_of(path.name, _parsed(path, text, delimiter))
    if delimiter:
        said.append(f"columns are parted by {DELIMITERS[delimiter]}")
    _no_split_figures(path, found, delimiter)
    return Grid(file=path.name, rows=found, said=tuple(said))


def _parsed(path: Path, text: str, delimiter: str) -> Iterable[list[Cell]]:
    reader = csv.reader(io.StringIO(text, newline=""), delimiter=delimiter or ",")
    try:
        for row in reader:
            yield [Cell(cell.strip()) for cell in row]
    except csv.Error as error:
        raise Unreadable(
            f"{path.name}, line {reader.line_num}: {error}.",
            where=str(path),
            mend="Look for a quotation mark that is never closed.",
        ) from error


def rows_of(name: str, rows: Iterable[Iterable[Cell]]) -> tuple[tuple[Cell, ...], ...]:
    """The rows up to the last used one, within the limits.

    Raises:
        Unreadable: more rows, columns or characters than the table of a formula has.
    """
    found: list[tuple[Cell, ...]] = []
    used = 0
    mend = "Copy the formula's table into a file of its own."
    for number, row in enumerate(rows, 1):
        cells = list(row)
        while cells and not cells[-1].text:
            cells.pop()
        if not cells and number > MOST_ROWS:
            break
        if number > MOST_ROWS:
            raise Unreadable(f"{name} has more than {MOST_ROWS} rows.", mend=mend)
        if len(cells) > MOST_COLUMNS:
            raise Unreadable(f"Row {number} of {name} has over {MOST_COLUMNS} columns.", mend=mend)
        if any(len(cell.text) > MOST_TEXT for cell in cells):
            what = f"A cell in row {number} of {name} has over {MOST_TEXT} characters."
            raise Unreadable(what, mend=mend)
        found.append(tuple(cells))
        used = number if cells else used
    return tuple(found[:used])


def _delimiter(text: str) -> str:
    """The sign between columns: the one with which most lines have the same number of them."""
    sample = "".join(text.splitlines(keepends=True)[:200])
    best, best_score = "", 0.0
    for sign in DELIMITERS:
        if sign not in sample:
            continue
        try:
            rows = [row for row in csv.reader(io.StringIO(sample), delimiter=sign) if any(row)]
        except csv.Error:
            continue
        counts = [len(row) for row in rows if len(row) > 1]
        if not counts:
            continue
        usual = max(set(counts), key=counts.count)
        score = counts.count(usual) / len(rows)
        if score > best_score * 1.05:
            best, best_score = sign, score
    return best


def _no_split_figures(path: Path, rows: tuple[tuple[Cell, ...], ...], delimiter: str) -> None:
    """Refuses a file parted by commas where a decimal comma has torn figures apart."""
    if delimiter != ",":
        return
    first = next((row for row in rows if len(row) > 1), ())
    for number, row in enumerate(rows, 1):
        if len(row) <= len(first) or row is first:
            continue
        pairs = ((a.text, b.text) for a, b in pairwise(row))
        torn = next((pair for pair in pairs if all(map(str.isdigit, pair))), None)
        if torn:
            raise Unreadable(
                f"Row {number} of {path.name} has {len(row)} columns where the first has "
                f"{len(first)}: {torn[0]},{torn[1]} may be one figure with a decimal comma.",
                where=str(path),
                mend="Save it with semicolons or tabs between columns, or as XLSX.",
            )
