"""The timeline as SVG: a row for each jar, a mark for each look, shaped by its grade.

A full line runs while the jar was seen intact, dashes where it failed at some time between two
looks, a bar at the look that found it, dots to what came after. Nothing is drawn beyond the last
look: nobody saw it.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from itertools import pairwise

from labbook.model.results.pictures import JarRow, Mark, Timeline
from labbook.show.layout import clean
from labbook.show.plots.axis import Scale, day_scale, day_ticks, draw_days, draw_guides
from labbook.show.plots.marks import (
    RADIUS,
    REACH,
    Sample,
    failure_bar,
    grade_mark,
    legend,
)
from labbook.show.plots.svg import WIDTH, Drawing, fitted, text_width
from labbook.show.plots.words import left_out_words, timeline_title, timeline_words

ROW = 19.0
MOVED = 12.0
"""What a row is higher by where the jar moved, for the words above its line."""

_LABEL = 122.0
_NAME = 80.0
_CLOSE = 2 * REACH
_RIGHT = WIDTH - 14


def timeline_svg(found: Timeline, *, paper: bool = False) -> str:
    """The timeline; see `Drawing.svg` for `paper`."""
    drawing = Drawing()
    headed = any(group.heading for group in found.groups)
    names = min(max((text_width(clean(r.name)) for r in found.rows), default=0.0) + 5, _NAME)
    beside = max((text_width(clean(_beside(r, headed))) for r in found.rows), default=0.0)
    left = min(names + beside, _LABEL) + 8
    scale = day_scale(last_day(found.rows), left + 6, _RIGHT)
    y = 4.0
    top = y
    placed: list[tuple[JarRow, float]] = []
    for group in found.groups:
        if group.heading:
            y += 17
            drawing.words("head", 2, y, fitted(group.heading, WIDTH - 8))
            y += 3
        for row in group.rows:
            y += ROW + (MOVED if _moves(row) else 0)
            placed.append((row, y - ROW / 2))
    draw_guides(drawing, scale, day_ticks(scale), top, y + 2)
    for row, middle in placed:
        _draw_label(drawing, row, middle, names, scale.start - 12, _beside(row, headed))
        _draw_row(drawing, scale, row, middle)
    y = draw_days(drawing, scale, y + 2, "days since filling")
    y = legend(drawing, list(_meanings(found.rows)), y + 2)
    if found.left_out:
        y = legend(drawing, [(None, left_out_words(found))], y)
    return drawing.svg("timeline", timeline_title(found), timeline_words(found), y + 4, paper=paper)


def last_day(rows: Sequence[JarRow]) -> float:
    """The last day that is drawn: of a look, or of a move."""
    days = [mark.day for row in rows for mark in row.looks]
    days += [stay.start for row in rows for stay in row.stays]
    return max(days, default=1.0)


def _moves(row: JarRow) -> list[tuple[float, str]]:
    """The days on which a jar was moved, and into which condition."""
    return [(stay.start, stay.condition) for stay in row.stays[1:]]


def _beside(row: JarRow, headed: bool) -> str:
    """What stands beside a jar's name: what the heading doesn't say."""
    return row.of if headed else row.stays[0].condition if row.stays else ""


def _draw_label(
    drawing: Drawing, row: JarRow, y: float, names: float, room: float, beside: str
) -> None:
    drawing.words("name", 2, y + 4, fitted(row.name, names))
    if room - names > 16:
        drawing.words("faint", 2 + names, y + 4, fitted(beside, room - names))


def _draw_row(drawing: Drawing, scale: Scale, row: JarRow, y: float) -> None:
    marks = list(apart(row, scale))
    _draw_line(drawing, scale, row, marks, y)
    for mark in marks:
        grade_mark(drawing, scale(mark.day), y, mark.grade)
    first = next((mark for mark in marks if mark.failed), None)
    if first is not None:
        failure_bar(drawing, scale(first.day), y)
    _draw_moves(drawing, scale, row, y)
    end = scale(marks[-1].day) + REACH + 5 if marks else scale.start + 2
    words = "too young" if row.young else "" if marks else "not looked at yet"
    if words and end + text_width(words) <= WIDTH - 2:
        drawing.words("faint", end, y + 4, words)


def apart(row: JarRow, scale: Scale, close: float = _CLOSE) -> Iterator[Mark]:
    """The looks that have room beside each other, `close` apart; of a crowd the worst is drawn.

    The look that first found a failure is always among them.
    """
    looks = sorted(row.looks, key=lambda mark: mark.day)
    first = next((mark for mark in looks if mark.failed), None)
    kept: list[Mark] = []
    for mark in looks:
        room = close * (1.5 if kept and kept[-1] is first else 1)
        crowded = bool(kept) and scale(mark.day) - scale(kept[-1].day) < room
        if not crowded:
            kept.append(mark)
        elif mark is first or (kept[-1] is not first and _worse(mark, kept[-1])):
            kept[-1] = mark
    yield from kept


def _worse(one: Mark, other: Mark) -> bool:
    grades = [-1 if mark.grade is None else mark.grade for mark in (one, other)]
    return grades[0] >= grades[1]


def _draw_line(
    drawing: Drawing, scale: Scale, row: JarRow, marks: Sequence[Mark], y: float
) -> None:
    """The line from mark to mark, with a gap at each, in the manner of each stretch."""
    stops = {0.0: 0.0} | {mark.day: REACH for mark in marks}
    for day in (row.failed_from, row.failed_at):
        if day is not None:
            stops.setdefault(day, 0.0)
    for start, _ in _moves(row):
        stops.setdefault(start, 0.0)
    days = sorted(stops)
    last = max((mark.day for mark in marks), default=0.0)
    for start, end in pairwise(days):
        bar = 5.0 if start == row.failed_at else 0.0
        x1, x2 = scale(start) + stops[start] + bar, scale(end) - stops[end]
        if x2 - x1 > 0.5:
            name = manner(row, start, end, last)
            drawing.line(name, x1, y, x2, y, **_MANNERS[name])


def manner(row: JarRow, start: float, end: float, last: float) -> str:
    """What a stretch of days is: `watched`; `between`, it failed somewhere in it; `after`.

    `last` is the day of the last look.
    """
    if end > last or (row.failed_at is not None and start >= row.failed_at):
        return "after"
    if row.failed_from is not None and start >= row.failed_from:
        return "between"
    return "watched"


_MANNERS: Mapping[str, Mapping[str, float | str]] = {
    "after": {"stroke_dasharray": "1 4", "stroke_width": 1},
    "between": {"stroke_dasharray": "5 3", "stroke_width": 1.5},
    "watched": {"stroke_width": 1.25},
}


def _draw_moves(drawing: Drawing, scale: Scale, row: JarRow, y: float) -> None:
    """A stroke where the jar was moved, and where to, if there is room for the words."""
    free = 0.0
    for day, condition in _moves(row):
        x = scale(day)
        drawing.line("moved", x, y - 11, x, y - REACH, stroke_width=1)
        words = fitted(f"to {condition}", WIDTH - 40)
        wide = text_width(words)
        left = min(x + 3, WIDTH - 2 - wide)
        if left >= max(free, scale.start) and left + wide >= x:
            drawing.words("faint", left, y - 9, words)
            free = left + wide + 6


# What the marks mean ------------------------------------------------------------------------------


def _meanings(rows: Sequence[JarRow]) -> Iterator[tuple[Sample | None, str]]:
    """Samples of what occurs, each with its words."""
    marks = [mark for row in rows for mark in row.looks]
    grades = sorted({max(0, min(m.grade, 4)) for m in marks if m.grade is not None})
    for number, grade in enumerate(grades):
        yield _sample(grade), f"grade {grade}" if not number else str(grade)
    if any(mark.grade is None for mark in marks):
        yield _sample(None), "no grade"
    if any(row.failed_at is not None for row in rows):
        yield _failing, "failed in between"
    if any(_moves(row) for row in rows):
        yield _moving, "moved"


def _sample(grade: int | None) -> Sample:
    def paint(drawing: Drawing, x: float, y: float) -> float:
        grade_mark(drawing, x + RADIUS, y, grade)
        return 2 * RADIUS

    return paint


def _failing(drawing: Drawing, x: float, y: float) -> float:
    drawing.line("between", x, y, x + 18, y, stroke_dasharray="5 3", stroke_width=1.5)
    drawing.line("failed", x + 20, y - 7, x + 20, y + 7, stroke_width=2)
    return 21.0


def _moving(drawing: Drawing, x: float, y: float) -> float:
    drawing.line("moved", x + 1, y - 4, x + 1, y + 3, stroke_width=1)
    return 2.0
