"""The screen of `stability trend`: values at like age, their range, and what they carry."""

from __future__ import annotations

from collections.abc import Sequence
from decimal import Decimal

from labbook.evidence.failure import condition_key
from labbook.model.results.trends import Apart, ReadingTrend, Series
from labbook.show.layout import Column, Screen
from labbook.show.outcomes import ROOM, point_words
from labbook.show.parts import plural, then

SPARKS = "▁▂▃▄▅▆▇█"
SIDE_BY_SIDE = 6
"""Series that stand beside each other in 80 columns."""


def trend_screen(result: ReadingTrend, screen: Screen) -> str:
    """`stability trend HC`."""
    here = result.condition
    place = f"in the {here}" if condition_key(here) == ROOM else here
    about = ", ".join(part for part in (result.reading, place) if part)
    screen.title(f"{result.code}  {result.title}: {about}", result.day.isoformat())
    screen.blank()
    if not result.readings:
        screen.row("", "No jar of it has a reading yet.")
        then(screen, ['labbook look 7k.1 0 --reading "spread 41 mm under 200 g for 60 s"'])
        return screen.text()
    if len(result.series) <= SIDE_BY_SIDE:
        _side_by_side(result, screen)
    _ranges(result, screen)
    _asked_for(result, screen)
    for number, sentence in enumerate(result.said):
        screen.row("so far" if not number else "", sentence)
    _apart(result.apart, screen)
    _others(result, screen)
    then(screen, result.then)
    return screen.text()


def _side_by_side(result: ReadingTrend, screen: Screen) -> None:
    if not result.rows:
        return
    heads = [Column(one.name, "point") for one in result.series]
    unit = [Column("", "unit")] if result.unit else []
    rows = [
        (
            point_words(row.age, ""),
            [*("" if v is None else f"{v:f}" for v in row.values), *[result.unit for _ in unit]],
        )
        for row in result.rows
    ]
    screen.table([*heads, *unit], rows)
    screen.blank()


def _ranges(result: ReadingTrend, screen: Screen) -> None:
    """Each series in one row: how many readings, from when to when, their range, their course."""
    if not result.series:
        screen.row("", "No two readings can be compared.")
        return
    low = min(one.low for one in result.series)
    high = max(one.high for one in result.series)
    heads = [
        Column("batch" if result.by_batch else "jar"), Column("read"), Column("days", "right"),
        Column("from", "point"), Column("to", "point"), Column("in order of age"),
    ]  # fmt: skip
    screen.table(heads, [("", _range(one, low, high, screen)) for one in result.series])
    screen.blank()


def _range(one: Series, low: Decimal, high: Decimal, screen: Screen) -> list[str]:
    first, last = one.points[0].age, one.points[-1].age
    days = f"{first:.0f}" if len(one.points) == 1 else f"{first:.0f}-{last:.0f}"
    course = spark([point.value for point in one.points], low, high, plain=screen.ascii)
    return [one.name, f"{len(one.points)}", days, f"{one.low:f}", f"{one.high:f}", course]


def spark(values: Sequence[Decimal], low: Decimal, high: Decimal, *, plain: bool = False) -> str:
    """A row of bars, one for each value, on one scale from the lowest to the highest.

    Without the bars in the console's letters: digits from 1 to 8.
    """
    marks = "12345678" if plain else SPARKS
    if high == low:
        return marks[3] * len(values)
    steps = len(marks) - 1
    return "".join(marks[round((value - low) / (high - low) * steps)] for value in values)


def _asked_for(result: ReadingTrend, screen: Screen) -> None:
    low, high = result.limits
    ends = [f"{word} {end:f}" for word, end in (("from", low), ("to", high)) if end is not None]
    if ends:
        screen.row("asked for", f"{result.reading} {' '.join(ends)} {result.unit}".rstrip())


def _apart(apart: Sequence[Apart], screen: Screen) -> None:
    """Readings that are compared with none, by their reason."""
    by_reason: dict[str, list[str]] = {}
    for one in apart:
        point = one.point
        name = f"{point.short}.{point.jar}" if point.jar else f"{point.short} (making)"
        told = f"{name} {point_words(point.age, '')}: {point.value:f} {point.unit}".rstrip()
        by_reason.setdefault(one.why, []).append(told)
    for number, (why, names) in enumerate(by_reason.items()):
        screen.row("apart" if not number else "", f"not compared, {why}: {'; '.join(names)}")


def _others(result: ReadingTrend, screen: Screen) -> None:
    others = [
        f"{name} ({plural(count, 'reading')})"
        for name, count in result.readings
        if name != result.reading
    ]
    if others:
        screen.row("also read", ", ".join(others))
    elsewhere = [name for name in result.conditions if name != result.condition]
    if elsewhere:
        screen.row("elsewhere", f"--condition: {', '.join(elsewhere)}")
