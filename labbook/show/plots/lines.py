"""Where lines end: with the last look, whatever they were handed in for."""

from __future__ import annotations

from collections.abc import Sequence
from itertools import pairwise

from labbook.model.results.pictures import TrendPicture

Path = Sequence[tuple[float, float]]
"""Points as (age, value)."""


def last_look(found: TrendPicture) -> float:
    """The age of the last reading: nothing is drawn, nor said, beyond it."""
    return max((point.age for point in found.points), default=0.0)


def until(path: Path, last: float) -> tuple[tuple[float, float], ...]:
    """A line cut off at an age, with its value there."""
    ordered = sorted(path)
    kept = [point for point in ordered if point[0] <= last]
    for (age1, value1), (age2, value2) in pairwise(ordered):
        if age1 < last < age2:
            kept.append((last, value1 + (value2 - value1) * (last - age1) / (age2 - age1)))
    return tuple(kept)
