"""Reading a thermometer's log: a text file with a time and a temperature in each line.

Any of the usual separators, a decimal point or comma, headings above. Times are ISO 8601, or day
first with points (`14.07.2026 15:00`); with slashes nobody can tell the day from the month.
"""

from __future__ import annotations

import csv
import re
from collections.abc import Iterator
from datetime import UTC, datetime, tzinfo
from itertools import pairwise
from pathlib import Path

from labbook.model.errors import Unreadable
from labbook.model.results.temperatures import LoggedTemperature

MOST_BYTES = 20_000_000
_POINTED = re.compile(
    r"([0-9]{1,2})\.([0-9]{1,2})\.([0-9]{4})[ T]+([0-9]{1,2}:[0-9]{2}(?::[0-9]{2})?)"
)
_FIGURE = re.compile(r"(-?[0-9]+(?:[.,][0-9]+)?)\s*(?:°?\s*([CF]))?", re.IGNORECASE)
COLDEST, HOTTEST = -100.0, 300.0


def read_temperatures(path: Path, zone: tzinfo | None) -> tuple[LoggedTemperature, ...]:
    """The readings of a log, in order of time.

    Args:
        path: the file.
        zone: of times that don't say theirs; None is UTC.

    Raises:
        Unreadable: it is no such file; the line and what is wrong with it.
    """
    lines = _text_of(path).splitlines()
    parted = max(
        "\t;,", key=lambda sign: sum(sign in line for line in lines[:50]) + (sign != ",") / 2
    )
    found: list[LoggedTemperature] = []
    fahrenheit = False
    for number, row in enumerate(_rows(path, lines, parted), 1):
        reading = _reading(row, zone, fahrenheit=fahrenheit)
        if reading is not None:
            found.append(reading)
        elif found and any(cell.strip() for cell in row):
            raise _unread(path, number, " ".join(row)[:60])
        elif not found:
            fahrenheit = fahrenheit or any("°f" in c.casefold().replace(" ", "") for c in row)
    if not found:
        raise _unread(path, 1, lines[0][:60] if lines else "")
    for number, (one, two) in enumerate(pairwise(found), 2):
        if two.time <= one.time:
            raise Unreadable(
                f"{path.name}, reading {number}: {two.time:%Y-%m-%d %H:%M} comes after"
                f" {one.time:%Y-%m-%d %H:%M}.",
                where=str(path), mend="Sort the lines by time, and leave out repeated ones.",
            )  # fmt: skip
    return tuple(found)


def _rows(path: Path, lines: list[str], parted: str) -> Iterator[list[str]]:
    reader = csv.reader(lines, delimiter=parted)
    try:
        yield from reader
    except csv.Error as error:  # a cell without end
        raise _unread(path, reader.line_num, lines[reader.line_num - 1][:60]) from error


def _text_of(path: Path) -> str:
    try:
        raw = path.read_bytes() if path.stat().st_size <= MOST_BYTES else None
    except OSError as error:
        raise Unreadable(f"{path} can't be read: {error.strerror}.", where=str(path)) from error
    if raw is None:
        raise Unreadable(
            f"{path.name} has more than {MOST_BYTES // 1_000_000} MB.", where=str(path),
            mend="Cut it into months.",
        )  # fmt: skip
    if raw.startswith((b"\xff\xfe", b"\xfe\xff")):
        return raw.decode("utf-16", "replace")
    return raw.removeprefix(b"\xef\xbb\xbf").decode("utf-8", "replace")


def _unread(path: Path, number: int, line: str) -> Unreadable:
    return Unreadable(
        f"{path.name}, line {number}: {line!r} is no time and temperature.", where=str(path),
        mend="A line reads: 2026-07-14 15:00, 26.4",
    )  # fmt: skip


def _reading(row: list[str], zone: tzinfo | None, *, fahrenheit: bool) -> LoggedTemperature | None:
    """The first time of a row, and the first temperature after it; None where it has none."""
    cells = [cell.strip() for cell in row]
    for place, cell in enumerate(cells):
        when, after = _time(cell), cells[place + 1 :]
        if when is None and after:  # date and time in two columns
            when, after = _time(f"{cell} {after[0]}"), after[1:]
        if when is None:
            continue
        for text in after:
            match = _FIGURE.fullmatch(text)
            if match:
                value = float(match[1].replace(",", "."))
                in_f = (match[2] or "").upper() == "F" or (fahrenheit and not match[2])
                celsius = (value - 32) * 5 / 9 if in_f else value
                if not COLDEST <= celsius <= HOTTEST:
                    return None
                return LoggedTemperature(
                    when if when.tzinfo else when.replace(tzinfo=zone or UTC), celsius
                )
    return None


def _time(text: str) -> datetime | None:
    match = _POINTED.fullmatch(text)
    if match:
        clock = match[4].zfill(8 if match[4].count(":") == 2 else 5)
        text = f"{match[3]}-{match[2]:0>2}-{match[1]:0>2} {clock}"
    if not re.match(r"[0-9]{4}-[0-9]{2}-[0-9]{2}[ T][0-9]", text):
        return None
    try:
        return datetime.fromisoformat(text)
    except ValueError:
        return None
