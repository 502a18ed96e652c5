"""Many series in one picture: a dot for each reading, a letter at the last one of each series.

Letters of series that end near each other stand in a column beside their last readings, far enough
apart to be read, each with a hairline to its own; where there are too many for a column, two share
a line. A hairline joins the readings of one series, so that the eye can follow it.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass

from labbook.show.plots.marks import series_letter
from labbook.show.plots.svg import Drawing, figure, text_width

ROOM = 30.0
"""What letters need to the right of the last day."""

_LINE = 12.0
"""From one letter to the next below it."""

_BESIDE = 9.0
_NEAR = 36.0
"""Series that end within this of each other share a column: a letter and its hairline wide."""

_MOST = 2  # letters on one line
_DOT = 1.6

Point = tuple[float, float]


@dataclass(frozen=True, slots=True)
class Label:
    """Letters that begin at x, their middle at y; `ends` are the readings that they stand for."""

    x: float
    y: float
    text: str
    ends: tuple[Point, ...]

    def meets(self, left: float, right: float, y: float) -> bool:
        """Whether words there would touch it."""
        beside = self.x >= right or left >= self.x + text_width(self.text)
        return not beside and abs(self.y - y) < _LINE


def labels_of(ends: Iterable[tuple[float, float, int]], top: float, bottom: float) -> list[Label]:
    """The letters of series, so that no two touch.

    Args:
        ends: the place of each series' last reading, and its number.
        top: above which no letter reaches.
        bottom: below which none does.
    """
    columns: list[list[tuple[float, float, int]]] = []
    for end in sorted(ends):
        if columns and end[0] - columns[-1][-1][0] < _NEAR:
            columns[-1].append(end)
        else:
            columns.append([end])
    return [label for column in columns for label in _column(column, top, bottom)]


def _column(ends: Sequence[tuple[float, float, int]], top: float, bottom: float) -> list[Label]:
    left = max(x for x, _, _ in ends) + _BESIDE
    ordered = sorted(ends, key=lambda end: (end[1], end[2]))
    room = int((bottom - top) / _LINE)
    each = min(_MOST, -(-len(ordered) // room))
    lines = [ordered[at : at + each] for at in range(0, len(ordered), each)][:room]
    wanted = [sum(y for _, y, _ in line) / len(line) for line in lines]
    return [
        Label(
            left,
            y,
            "".join(series_letter(number) for _, _, number in line),
            tuple((x, at) for x, at, _ in line),
        )
        for line, y in zip(lines, _spread(wanted, top, bottom), strict=True)
    ]


def _spread(wanted: Sequence[float], top: float, bottom: float) -> list[float]:
    """Places in the same order and a line apart that move the letters least, by least squares.

    Less a line for each place before it they only have to rise, so neighbours that don't are pooled
    (Ayer and others, Ann Math Stat 26:641, 1955; from memory).
    """
    pools: list[tuple[float, int]] = []
    for number, y in enumerate(wanted):
        pools.append((y - number * _LINE, 1))
        while len(pools) > 1 and pools[-2][0] >= pools[-1][0]:
            (one, many), (other, more) = pools[-2:]
            pools[-2:] = [((one * many + other * more) / (many + more), many + more)]
    low = top + _LINE / 2
    high = max(low, bottom - _LINE / 2 - (len(wanted) - 1) * _LINE)
    level = [min(max(y, low), high) for y, many in pools for _ in range(many)]
    return [y + number * _LINE for number, y in enumerate(level)]


def draw_lettered(
    drawing: Drawing,
    series: Sequence[Sequence[Point]],
    top: float,
    bottom: float,
    taken: Sequence[tuple[float, float, float]] = (),
) -> None:
    """Draws readings, hairlines and letters.

    Args:
        drawing: what it is painted on.
        series: the places of the readings of each, in the order of days.
        top: above which no letter reaches.
        bottom: below which none does.
        taken: left, right and middle of words that stand there; a letter gives way to them.
    """
    for number, points in enumerate(series):
        if len(points) > 1:
            steps = " L".join(f"{figure(x)} {figure(y)}" for x, y in points)
            drawing.add(
                "path", f"joined series-{number}", d=f"M{steps}", fill="none",
                stroke="currentColor", stroke_width=0.5, stroke_opacity="0.4",
            )  # fmt: skip
    for number, points in enumerate(series):
        for x, y in points:
            drawing.add("circle", f"point series-{number}", cx=x, cy=y, r=_DOT)
    ends = ((*points[-1], number) for number, points in enumerate(series) if points)
    for label in labels_of(ends, top, bottom):
        if any(label.meets(*words) for words in taken):
            continue
        for x, y in label.ends:
            if x + _DOT + 1 < label.x - 1:
                drawing.line("leader", x + _DOT + 1, y, label.x - 1, label.y, stroke_width=0.5,
                             stroke_opacity="0.6")  # fmt: skip
        drawing.words("letters", label.x, label.y + 4, label.text)
