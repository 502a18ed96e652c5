"""Scales and ticks: days that draw together to the right, even days, and values.

Looks lie close together at first and far apart later, so on a timeline and a curve the place of a
day goes by its square root: hour 4, day 1 and day 90 all have room.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from math import ceil, floor, log10, sqrt

from labbook.show.plots.svg import WIDTH, Drawing, text_width

DAYS = (1, 3, 7, 14, 28, 60, 90, 180, 365, 730, 1460, 2920, 5840, 11680, 36500)
"""Days at which a protocol asks for looks, and later ones that double."""

_GAP = 7.0


@dataclass(frozen=True, slots=True)
class Scale:
    """From a value to its place; values outside are held at the ends."""

    low: float
    high: float
    start: float
    end: float
    roots: bool = False

    def __call__(self, value: float) -> float:
        """The place of a value."""
        span = self.high - self.low
        share = (min(max(value, self.low), self.high) - self.low) / span if span > 0 else 0.0
        return self.start + (self.end - self.start) * (sqrt(share) if self.roots else share)


def day_scale(last: float, start: float, end: float, *, roots: bool = True) -> Scale:
    """Days from 0 to the last one that is shown, at least one."""
    return Scale(0.0, max(last, 1.0), start, end, roots)


def day_ticks(
    scale: Scale, width: Callable[[str], float] = text_width, gap: float = _GAP
) -> tuple[int, ...]:
    """Days to write under the axis, so that no two touch: 0, the last, and those that fit."""
    candidates = _days(scale) if scale.roots else _even(scale, width, gap)
    last = candidates[-1:] if candidates else []
    kept: list[int] = []
    for day in [0, *last, *candidates]:
        half = width(str(day)) / 2
        free = all(
            abs(scale(day) - scale(other)) >= half + width(str(other)) / 2 + gap for other in kept
        )
        if free and day not in kept:
            kept.append(day)
    return tuple(sorted(kept))


def _days(scale: Scale) -> list[int]:
    return [day for day in DAYS if day <= scale.high]


def _even(scale: Scale, width: Callable[[str], float], gap: float) -> list[int]:
    """Multiples of the smallest usual step at which the labels have room."""
    room = scale.end - scale.start
    each = width(str(int(scale.high))) + 2 * gap
    for step in (1, 2, 5, 7, 14, 28, 30, 60, 90, 180, 365, 730, 1825, 3650, 7300, 14600, 36500):
        if scale.high / step * each <= room:
            return list(range(step, int(scale.high) + 1, step)) or [int(scale.high)]
    return [int(scale.high)]


def value_ticks(low: float, high: float, most: int = 5) -> tuple[tuple[float, ...], int]:
    """Round values that cover a range, and how many digits stand behind their point."""
    span = max(high - low, abs(high) * 1e-9, 1e-9)
    power = floor(log10(span))
    for step in (10.0**exponent * part for exponent in (power - 1, power, power + 1)
                 for part in (1, 2, 5)):  # fmt: skip
        first, last = floor(low / step + 1e-9), ceil(high / step - 1e-9)
        if last - first + 1 <= most:
            digits = max(0, -floor(log10(step) + 1e-9))
            return tuple(number * step for number in range(first, max(last, first + 1) + 1)), digits
    return (low, high), 3


def draw_days(drawing: Drawing, scale: Scale, y: float, words: str) -> float:
    """The axis of days with its ticks and words under it; returns where it ends below."""
    drawing.line("axis", scale.start, y, scale.end, y, stroke_width=0.75)
    for day in day_ticks(scale):
        drawing.line("axis", scale(day), y, scale(day), y + 4, stroke_width=0.75)
        inside = min(scale(day), WIDTH - text_width(str(day)) / 2 - 1)
        drawing.words("tick", inside, y + 16, str(day), "middle")
    drawing.words("faint", scale.end, y + 31, words, "end")
    return y + 36


def draw_guides(drawing: Drawing, scale: Scale, days: Sequence[int], y1: float, y2: float) -> None:
    """Hairlines at the ticks, through all rows."""
    for day in days:
        x = scale(day)
        drawing.line("guide", x, y1, x, y2, stroke_width=0.5, stroke_opacity="0.25")
