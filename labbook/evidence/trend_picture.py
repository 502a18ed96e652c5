"""A followed reading as a picture's data: points, and lines only as far as somebody looked."""

from __future__ import annotations

from collections.abc import Sequence

from labbook.model.results.pictures import TrendLine, TrendPicture, TrendPoint
from labbook.model.results.trends import ReadingTrend


def trend_picture(found: ReadingTrend) -> TrendPicture:
    """The readings of a formula's jars over days, with what the formula asks for.

    A line has the bound on the side of the nearest limit; without a limit, none.
    """
    low, high = found.limits
    points = tuple(
        TrendPoint(
            age=point.age, value=float(point.value), series=one.name, spread=point.uncertainty
        )
        for one in found.series
        for point in one.points
    )
    upper = low is None and high is not None
    lines = tuple(
        TrendLine(
            name=line.batch,
            line=tuple((age, value) for age, value, _, _ in line.points),
            bound=tuple((age, top if upper else bottom) for age, _, bottom, top in line.points)
            if low is not None or high is not None
            else (),
        )
        for line in found.lines
    )
    limits = [(low, "at least"), (high, "at most")]
    return TrendPicture(
        subject=f"{found.code}, {found.title}",
        reading=found.reading,
        unit=found.unit,
        points=points,
        lines=lines,
        limits=tuple((float(v), word) for v, word in limits if v is not None),
        why="" if lines else _why(found.said),
    )


def _why(said: Sequence[str]) -> str:
    """Why there is no line, as it goes on after "No line is drawn: "."""
    return " ".join(said).removeprefix("No line: ").removesuffix(".")
