"""The trend as SVG: readings over even days, their range, and a line only where one was reckoned.

Line and bound end with the last look, whatever they were handed in for. Of many series each has a
letter (`labbook.show.plots.letters`).
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from labbook.model.results.pictures import TrendPicture, TrendPoint
from labbook.show.plots.axis import Scale, day_scale, draw_days, value_ticks
from labbook.show.plots.curve import DASHES
from labbook.show.plots.letters import ROOM, draw_lettered
from labbook.show.plots.lines import Path, last_look, until
from labbook.show.plots.marks import SHAPES, Sample, legend, series_mark
from labbook.show.plots.svg import SIZE, WIDTH, Drawing, figure, fitted, text_width
from labbook.show.plots.words import range_words, series_of, trend_title, trend_words, value_words

_TOP, _BOTTOM = 28.0, 158.0
_RIGHT = WIDTH - 12


def trend_svg(found: TrendPicture, *, paper: bool = False) -> str:
    """The readings, their range, lines and bounds; see `Drawing.svg` for `paper`."""
    drawing = Drawing()
    last = last_look(found)
    paths = [(n, until(li.line, last), until(li.bound, last)) for n, li in enumerate(found.lines)]
    ticks, digits = ticks_of(found)
    labels = [f"{tick:.{digits}f}" for tick in ticks]
    left = min(max(map(text_width, labels)) + 10, WIDTH / 2)
    lettered = len(series_of(found)) > SHAPES
    across = day_scale(last, left + 6, _RIGHT - (ROOM if lettered else 0), roots=False)
    upward = Scale(ticks[0], ticks[-1], _BOTTOM, _TOP)
    head = f"{found.reading}, {found.unit}" if found.unit else found.reading
    drawing.words("faint", 2, 12, fitted(head, WIDTH - 8))
    for tick, label in zip(ticks, labels, strict=True):
        y = upward(tick)
        drawing.line("guide", left + 2, y, across.end, y, stroke_width=0.5, stroke_opacity="0.25")
        drawing.words("tick", left - 3, y + 4, fitted(label, left - 4), "end")
    if not found.lines:
        _draw_range(drawing, across, upward, found.points)
    limits = _draw_limits(drawing, across, upward, found)
    for number, line, bound in paths:
        _draw_path(drawing, across, upward, bound, f"bound line-{number}", "3 2.5", 1)
        dash = DASHES[number % len(DASHES)] if found.lines[number].name else ""
        _draw_path(drawing, across, upward, line, f"sure line-{number}", dash, 1.5)
    _draw_points(drawing, across, upward, found, limits)
    y = draw_days(drawing, across, _BOTTOM + 6, "days since filling")
    y = legend(drawing, list(_meanings(found)), y + 2)
    return drawing.svg("trend", trend_title(found), trend_words(found), y + 4, paper=paper)


def ticks_of(found: TrendPicture) -> tuple[tuple[float, ...], int]:
    """Round values around all that is drawn, and their digits behind the point."""
    last = last_look(found)
    values = [p.value + sign * p.spread for p in found.points for sign in (-1, 1)]
    for line in found.lines:
        values += [v for path in (line.line, line.bound) for _, v in until(path, last)]
    values += [value for value, _ in found.limits]
    low, high = min(values, default=0.0), max(values, default=1.0)
    if high - low < 1e-9 * max(1.0, abs(high)):
        room = abs(high) * 0.05 or 1.0
        low, high = low - room, high + room
    return value_ticks(low, high)


def _draw_range(
    drawing: Drawing, across: Scale, upward: Scale, points: Sequence[TrendPoint]
) -> None:
    """All values between the first and the last look."""
    if len({point.age for point in points}) < 2:
        return
    x1, x2 = (across(f(p.age for p in points)) for f in (min, max))
    y1, y2 = (upward(f(p.value for p in points)) for f in (max, min))
    drawing.add("rect", "band", x=x1, y=y1, width=x2 - x1, height=y2 - y1, fill_opacity="0.08")


def _draw_limits(
    drawing: Drawing, across: Scale, upward: Scale, found: TrendPicture
) -> list[tuple[float, float, float]]:
    """The limits as lines; gives left, right and middle of their words."""
    told: list[tuple[float, float, float]] = []
    for value, words in found.limits:
        y = upward(value)
        drawing.line(
            "limit", across.start, y, across.end, y, stroke_dasharray="1 3", stroke_width=1.25
        )
        text = fitted(f"{words} {value_words(value)}", across.end - across.start)
        base = y - 4 if y - 4 - SIZE > _TOP - 14 else y + SIZE
        if all(abs(base - 4 - other) > SIZE for _, _, other in told):
            drawing.words("key", across.end, base, text, "end")
            told.append((across.end - text_width(text), across.end, base - 4))
    return told


def _draw_path(
    drawing: Drawing, across: Scale, upward: Scale, path: Path, name: str, dash: str, thick: float
) -> None:
    if len(path) < 2:
        return
    steps = " L".join(f"{figure(across(age))} {figure(upward(value))}" for age, value in path)
    style: dict[str, float | str] = {"stroke_dasharray": dash} if dash else {}
    drawing.add(
        "path", name, d=f"M{steps}", fill="none", stroke="currentColor", stroke_width=thick, **style
    )


def _draw_points(
    drawing: Drawing,
    across: Scale,
    upward: Scale,
    found: TrendPicture,
    limits: Sequence[tuple[float, float, float]],
) -> None:
    """Each reading with its spread; `limits` are the places of words that stand there already."""
    series = list(series_of(found).values())
    reach = 4.0 if len(series) <= SHAPES else 2.0
    for points in series:
        for point in points:
            _draw_spread(drawing, upward, across(point.age), point, reach)
    places = [[(across(one.age), upward(one.value)) for one in points] for points in series]
    if len(series) > SHAPES:
        draw_lettered(drawing, places, _TOP - 12, _BOTTOM + 4, limits)
        return
    for number, own in enumerate(places):
        for x, y in own:
            series_mark(drawing, x, y, number, len(series))


def _draw_spread(
    drawing: Drawing, upward: Scale, x: float, point: TrendPoint, reach: float
) -> None:
    """A stroke to both sides of a mark, which reaches so far itself."""
    if not point.spread:
        return
    y = upward(point.value)
    high, low = (upward(point.value + sign * point.spread) for sign in (1, -1))
    if high < y - reach:
        drawing.line("spread", x, high, x, y - reach, stroke_width=0.75)
    if low > y + reach:
        drawing.line("spread", x, y + reach, x, low, stroke_width=0.75)


def _meanings(found: TrendPicture) -> Iterator[tuple[Sample | None, str]]:
    series = series_of(found)
    for number, (name, points) in enumerate(series.items()):
        yield _point(number, len(series)), f"{name}: {range_words(points, found.unit)}"
    if any(line.bound for line in found.lines):
        yield _bound, "one-sided 95 % bound"
    if not found.lines and len({point.age for point in found.points}) > 1:
        yield _range, "range of all readings"


def _point(number: int, of: int) -> Sample:
    def paint(drawing: Drawing, x: float, y: float) -> float:
        series_mark(drawing, x + 4, y, number, of)
        return 8.0

    return paint


def _bound(drawing: Drawing, x: float, y: float) -> float:
    drawing.line("bound", x, y, x + 24, y, stroke_dasharray="3 2.5", stroke_width=1)
    return 24.0


def _range(drawing: Drawing, x: float, y: float) -> float:
    drawing.add("rect", "band", x=x, y=y - 5, width=24, height=9, fill_opacity="0.08")
    return 24.0
