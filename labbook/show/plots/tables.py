"""Pictures in Markdown: the reference with its text alternative, and the figures as a table."""

from __future__ import annotations

import re
from collections.abc import Sequence

from labbook.model.results.pictures import CurvePicture, Timeline, TrendPicture
from labbook.show.markdown import escaped
from labbook.show.plots.lines import last_look, until
from labbook.show.plots.words import (
    NOT_EVEN,
    curve_words,
    left_out_words,
    look_words,
    row_words,
    series_of,
    share_words,
    timeline_words,
    trend_words,
    value_words,
)

_FIGURE = re.compile(r"-?[0-9]+(\.[0-9]+)?( to [0-9]+)?( %)?", re.ASCII)


def reference(words: str, path: str) -> str:
    """An image by its path, with its text alternative."""
    return f"![{escaped(words)}]({path})"


def _table(heads: Sequence[str], right: Sequence[bool], rows: Sequence[Sequence[str]]) -> str:
    """A table of cells that are Markdown already."""
    marks = ["---:" if one else ":---" for one in right]
    lines = [heads, marks, *rows]
    return "\n".join(f"| {' | '.join(line)} |" for line in lines)


def _cell(text: str) -> str:
    return text if _FIGURE.fullmatch(text) else escaped(text)


def _firm(text: str) -> str:
    """A cell's part that a narrow page doesn't break; escaping has taken such spaces away."""
    return _cell(text).replace(" ", "\u00a0")


def _joined(*parts: str) -> str:
    return "\n\n".join(part for part in parts if part) + "\n"


def timeline_markdown(found: Timeline, path: str) -> str:
    """The timeline's picture and its looks as a table.

    Args:
        found: the timeline.
        path: where the SVG lies, from the page on.
    """
    several = len({row.of for row in found.rows}) > 1
    rows = []
    for row in found.rows:
        looks = "; ".join(_firm(look_words(mark)) for mark in row.looks) or "none"
        made_of = (_firm(row.of),) if several else ()
        rows.append((_cell(row.name), *made_of, looks, _cell(row_words(row))))
    heads = ("jar", *(("of",) if several else ()), "looks, each with its grade", "became")
    table = _table(heads, (False,) * len(heads), rows)
    return _joined(reference(timeline_words(found), path), NOT_EVEN, table, left_out_words(found))


def curve_markdown(found: CurvePicture, path: str) -> str:
    """The curve's picture and its shares as a table."""
    rows = []
    for line in found.lines:
        head = (_cell(line.name), _cell(f"{line.failed} of {line.of}"))
        for piece in line.pieces:
            span = _firm(f"{_point(piece.start)} to {_point(piece.end)}")
            share = _firm(share_words(piece.low, piece.high))
            watched = str(line.watched(piece.end)) if line.last_intact else ""
            rows.append((*head, span, share, watched))
            head = ("", "")
        if not line.pieces:
            rows.append((*head, "", "", ""))
    heads = ("batches", "failed", found.unit, "intact", "seen until then")
    table = _table(heads, (False, False, False, True, True), rows)
    return _joined(reference(curve_words(found), path), NOT_EVEN, table)


def _point(age: float) -> str:
    return f"{age:.0f}" if age >= 1 or not age else f"{age:.2f}"


def trend_markdown(found: TrendPicture, path: str) -> str:
    """The trend's picture, its readings and where its lines end, as tables."""
    head = f"{escaped(found.reading)}{', ' + escaped(found.unit) if found.unit else ''}"
    rows = [
        (_cell(name), f"{point.age:.0f}", value_words(point.value))
        for name, points in series_of(found).items()
        for point in points
    ]
    tables = [_table(("jar", "day", head), (False, True, True), rows)]
    last = last_look(found)
    ends = [(line.name or "common line", until(line.line, last), until(line.bound, last))
            for line in found.lines]  # fmt: skip
    if ends:
        told = [
            (_cell(name), *(value_words(path_[-1][1]) if path_ else "" for path_ in (line, bound)))
            for name, line, bound in ends
        ]
        day = f"line on day {last:.0f}"
        tables.append(_table(("line", day, "one-sided 95 % bound"), (False, True, True), told))
    return _joined(reference(trend_words(found), path), *tables)
