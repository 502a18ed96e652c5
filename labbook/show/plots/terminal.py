"""Pictures for the terminal: one margin of twelve columns, days to its right; with ASCII too.

On a timeline a look is its grade as a digit, so that nobody has to learn signs.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from itertools import pairwise
from math import floor

from labbook.model.results.looking import CYCLES
from labbook.model.results.pictures import (
    CurveLine,
    CurvePicture,
    JarRow,
    JarStay,
    Timeline,
    TrendPicture,
)
from labbook.show.layout import MARGIN, NARROW, WIDEST, Screen, clean, columns_of, spelled_out
from labbook.show.outcomes import cell_words
from labbook.show.plots.axis import Scale, day_scale, day_ticks
from labbook.show.plots.lines import last_look, until
from labbook.show.plots.marks import series_letter
from labbook.show.plots.timeline import apart, last_day, manner
from labbook.show.plots.trend import ticks_of
from labbook.show.plots.words import (
    NOT_EVEN,
    left_out_words,
    line_words,
    range_words,
    series_of,
    timeline_title,
    trend_line_words,
    value_words,
)

_STRIP = 40
_PLAIN = {"─": "-", "╌": "~", "·": ".", "┃": "|", "›": ">", "░": ":", "┄": "="}
_MANNERS = {"watched": "─", "between": "╌", "after": "·"}
_LEVELS = 5
_HIGH = 9


class _Grid:
    """Rows of characters, blank at first."""

    def __init__(self, width: int, height: int = 1) -> None:
        self.width = width
        self._rows = [[" "] * width for _ in range(height)]

    def put(self, x: int, y: int, text: str) -> None:
        """Characters from a cell on; what would stick out is moved in."""
        start = max(0, min(x, self.width - len(text)))
        for offset, char in enumerate(text[: self.width]):
            self._rows[y][start + offset] = char

    def blank(self, x: int, y: int) -> bool:
        """Whether nothing stands in a cell of the grid."""
        return 0 <= x < self.width and self._rows[y][x] == " "

    def line(self, y: int, screen: Screen) -> str:
        """One row as text, in the signs that the screen has."""
        text = "".join(self._rows[y]).rstrip()
        return "".join(_PLAIN.get(char, char) for char in text) if screen.ascii else text


def _room(screen: Screen) -> int:
    return min(screen.width, WIDEST) - (MARGIN if screen.width >= 40 else 2)


def _sign(char: str, screen: Screen) -> str:
    return _PLAIN[char] if screen.ascii else char


def _days(scale: Scale, width: int, screen: Screen) -> str:
    """The days under a strip."""
    grid = _Grid(width)
    for day in day_ticks(scale, width=lambda text: float(len(text)), gap=1.0):
        text = str(day)
        grid.put(floor(scale(day)) - (len(text) - 1) // 2, 0, text)
    return grid.line(0, screen)


# Timeline -----------------------------------------------------------------------------------------


def timeline_screen(found: Timeline, screen: Screen) -> str:
    """The jars over days, one line each."""
    screen.title(timeline_title(found))
    draw_timeline(found, screen)
    return screen.text()


def draw_timeline(found: Timeline, screen: Screen) -> None:
    """The same without a title, for a screen that has one."""
    screen.blank()
    if not found.rows:
        screen.row("", "There is no jar to draw.")
        return
    width = _STRIP if screen.width >= NARROW else _room(screen)
    scale = day_scale(last_day(found.rows), 0.0, width - 1.0)
    days = _days(scale, width, screen)
    for group in found.groups:
        if group.heading:
            screen.blank()
            screen.row(group.heading, days)
        for row in group.rows:
            _put_row(screen, row, _strip(row, scale, width, screen), width, bool(group.heading))
    if not any(group.heading for group in found.groups):
        screen.row("day", days)
    screen.blank()
    dash = _sign("╌", screen)
    failed = f" {dash} is where a jar failed at some time." if _any_failed(found) else ""
    cycles = " Freeze-thaw outcomes count cycles." if _any_cycles(found) else ""
    screen.row(
        "", f"Digits are grades, from 0, nothing seen, to 4, broken.{failed} {NOT_EVEN}{cycles}"
    )
    if found.left_out:
        screen.row("", left_out_words(found))


def _any_failed(found: Timeline) -> bool:
    return any(row.failed_at is not None for row in found.rows)


def _any_cycles(found: Timeline) -> bool:
    return any(mark.unit == CYCLES for row in found.rows for mark in row.looks)


def _put_row(screen: Screen, row: JarRow, strip: str, width: int, headed: bool) -> None:
    told = clean(", ".join(_became(row, headed)))
    if screen.ascii:
        told = spelled_out(told)
    if screen.width >= NARROW and width + 2 + columns_of(told) <= _room(screen):
        screen.row(row.name, f"{strip:<{width}}  {told}")
    else:
        screen.row(row.name, f"{strip or ' '}\n{told}")


def _became(row: JarRow, headed: bool) -> Iterator[str]:
    if headed and row.of:
        yield row.of
    if row.while_making and row.failed_at == 0:
        yield "failed while making"
        return
    for number, stay in enumerate(row.stays):
        yield _cell(stay, named=not headed or number > 0)
    if row.young:
        yield "too young"


def _cell(stay: JarStay, *, named: bool) -> str:
    told = cell_words(stay.outcome) or "not looked at"
    return f"{stay.condition} {told}" if named else told


def _strip(row: JarRow, scale: Scale, width: int, screen: Screen) -> str:
    grid = _Grid(width)
    marks = list(apart(row, scale, 2.0))
    first = next((mark for mark in marks if mark.failed), None)
    for mark in marks:
        digit = "?" if mark.grade is None else str(max(0, min(mark.grade, 9)))
        grid.put(floor(scale(mark.day)), 0, digit)
    if first is not None and grid.blank(floor(scale(first.day)) + 1, 0):
        grid.put(floor(scale(first.day)) + 1, 0, "┃")
    for stay in row.stays[1:]:
        if grid.blank(floor(scale(stay.start)), 0):
            grid.put(floor(scale(stay.start)), 0, "›")
    end = max((floor(scale(day)) for day in _ends(row)), default=-1)
    last = max((mark.day for mark in marks), default=0.0)
    for x in range(end):
        if grid.blank(x, 0):
            grid.put(x, 0, _MANNERS[manner(row, _day_at(scale, x), _day_at(scale, x + 1), last)])
    return grid.line(0, screen)


def _ends(row: JarRow) -> list[float]:
    return [mark.day for mark in row.looks] + [stay.start for stay in row.stays[1:]]


def _day_at(scale: Scale, x: float) -> float:
    """The day of a column, the scale turned round; a hair less, so that it meets its own mark."""
    share = (x - scale.start) / (scale.end - scale.start)
    return scale.high * share * share * (1 - 1e-9)


# Curve --------------------------------------------------------------------------------------------


def curve_screen(found: CurvePicture, screen: Screen) -> str:
    """The curves under each other, on the same days."""
    screen.title(f"{found.subject}, {found.condition}: {found.event}")
    draw_curve(found, screen)
    return screen.text()


def draw_curve(found: CurvePicture, screen: Screen) -> None:
    """The same without a title."""
    width = min(_STRIP, _room(screen))
    last = max((piece.end for line in found.lines for piece in line.pieces), default=1.0)
    scale = day_scale(last, 0.0, width - 1.0)
    for line in found.lines:
        screen.blank()
        screen.row(line.name, line_words(line, found, stretches=False))
        grid = _panel(line, scale, width)
        for level in range(_LEVELS):
            share = 100 - level * 100 // (_LEVELS - 1)
            screen.row("" if level % 2 else f"{share:>3} %", grid.line(level, screen) or " ")
        screen.row("day" if found.unit == "days" else "cycle", _days(scale, width, screen))
    screen.blank()
    band = _sign("░", screen)
    screen.row("", f"Share of {found.counted} intact; {band} is where it can't be told. {NOT_EVEN}")


def _panel(line: CurveLine, scale: Scale, width: int) -> _Grid:
    grid = _Grid(width, _LEVELS)
    for piece in line.pieces:
        first, last = floor(scale(piece.start)), floor(scale(piece.end))
        rows = [round((1 - share) * (_LEVELS - 1)) for share in (piece.high, piece.low)]
        sure = piece.low == piece.high
        for x in range(first, max(last, first + 1)):
            for y in range(rows[0], rows[1] + 1):
                grid.put(x, y, "─" if sure else "░")
    return grid


# Trend --------------------------------------------------------------------------------------------


def trend_screen(found: TrendPicture, screen: Screen) -> str:
    """The readings over days, a letter for each series."""
    screen.title(f"{found.reading} of {found.subject}", found.unit)
    draw_trend(found, screen)
    return screen.text()


def draw_trend(found: TrendPicture, screen: Screen) -> None:
    """The same without a title."""
    screen.blank()
    width = min(_STRIP + 8, _room(screen))
    across = day_scale(last_look(found), 0.0, width - 1.0, roots=False)
    ticks, digits = ticks_of(found)
    upward = Scale(ticks[0], ticks[-1], _HIGH - 1.0, 0.0)
    grid = _trend_grid(found, across, upward, width)
    labels = {round(upward(tick)): f"{tick:.{digits}f}" for tick in ticks}
    for y in range(_HIGH):
        screen.row(labels.get(y, ""), grid.line(y, screen) or " ")
    screen.row("day", _days(across, width, screen))
    screen.blank()
    for number, (name, points) in enumerate(series_of(found).items()):
        screen.row(series_letter(number), f"{name}: {range_words(points, found.unit)}")
    for line in found.lines:
        screen.row("", trend_line_words(line, found))
    for value, words in found.limits:
        screen.row(_sign("┄", screen), f"limit, {words} {value_words(value)}")
    if found.why:
        screen.row("", f"No line is drawn: {found.why}.")


def _trend_grid(found: TrendPicture, across: Scale, upward: Scale, width: int) -> _Grid:
    grid = _Grid(width, _HIGH)
    for value, _ in found.limits:
        grid.put(0, round(upward(value)), "┄" * width)
    for line in found.lines:
        for path, sign in ((line.bound, "·"), (line.line, "─")):
            _trace(grid, across, upward, until(path, across.high), sign)
    for number, points in enumerate(series_of(found).values()):
        for point in points:
            grid.put(floor(across(point.age)), round(upward(point.value)), series_letter(number))
    return grid


def _trace(
    grid: _Grid, across: Scale, upward: Scale, path: Sequence[tuple[float, float]], sign: str
) -> None:
    for (age1, value1), (age2, value2) in pairwise(path):
        first, last = floor(across(age1)), floor(across(age2))
        for x in range(first, last + 1):
            share = (x - first) / (last - first) if last > first else 0.0
            grid.put(x, round(upward(value1 + (value2 - value1) * share)), sign)
