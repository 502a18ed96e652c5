"""Straight lines through readings, with the bound of the mean, and whether batches share a line.

Ordinary least squares by batch. Three models: one line for all batches ("common line"), one slope
and an intercept each ("separate intercepts"), and a line each ("separate lines"). Any age may be
asked for here; `trends` keeps to the ages that were watched and to the minima.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from math import fsum, sqrt
from typing import Literal

from labbook.evidence.statistics.distributions import bisect, f_tail, student_quantile

__all__ = ["Line", "Model", "Point", "Poolability", "fit_lines", "poolability"]

Model = Literal["common line", "separate intercepts", "separate lines"]
Side = Literal["lower", "upper"]

POOL_AT = 0.25
"""ICH Q1E B.2.2.1: batches are pooled where the test gives a p above this, not 0.05, so that few
readings don't hide a difference."""


@dataclass(frozen=True, slots=True)
class Point:
    """One reading: which batch, at what age, its value, and the session it was read in."""

    batch: str
    age: float
    value: float
    session: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class Line:
    """A fitted line, for one batch or, with `batch` empty, for all.

    `scatter` is the residual standard deviation with `df` degrees of freedom. It is `shared` where
    the readings of other batches entered it. The variance of the mean at an age t is
    scatter²·(1/count + (t - centre)²/spread), and what the sessions' calibration adds.
    """

    batch: str
    slope: float
    intercept: float
    scatter: float
    df: int
    shared: bool
    count: int
    centre: float
    spread: float
    offset: tuple[float, float, float] = (0.0, 0.0, 0.0)

    def at(self, age: float) -> float:
        """The value of the line."""
        return self.intercept + self.slope * age

    def error(self, age: float) -> float:
        """The standard error of the line at an age."""
        away = age - self.centre
        constant, linear, square = self.offset
        variance = self.scatter**2 * (1 / self.count + away**2 / self.spread)
        return sqrt(max(variance + constant + linear * away + square * away**2, 0.0))

    def bound(self, age: float, side: Side, *, level: float = 0.95) -> float:
        """The one-sided confidence bound of the mean at an age."""
        margin = student_quantile(level, self.df) * self.error(age)
        return self.at(age) - margin if side == "lower" else self.at(age) + margin

    def passes(
        self, limit: float, side: Side, *, until: float, level: float = 0.95
    ) -> float | None:
        """The age from 0 to `until` at which the bound passes a limit; None where it doesn't.

        0 where it lies beyond the limit at once. The bound is bent one way only, so that from an
        age within the limit it passes once.
        """
        sign = 1.0 if side == "lower" else -1.0
        t = student_quantile(level, self.df)

        def beyond(age: float) -> float:
            return sign * (limit - self.at(age)) + t * self.error(age)

        if beyond(0.0) > 0:
            return 0.0
        return bisect(beyond, 0.0, until) if beyond(until) > 0 else None


@dataclass(frozen=True, slots=True)
class _Sums:
    """One batch's readings, or all, gathered about their means."""

    ages: tuple[float, ...]
    values: tuple[float, ...]
    sessions: tuple[str, ...]

    @property
    def centre(self) -> float:
        return fsum(self.ages) / len(self.ages)

    @property
    def mean(self) -> float:
        return fsum(self.values) / len(self.values)

    @property
    def spread(self) -> float:
        return fsum((age - self.centre) ** 2 for age in self.ages)

    @property
    def along(self) -> float:
        centre, mean = self.centre, self.mean
        return fsum((a - centre) * (v - mean) for a, v in zip(self.ages, self.values, strict=True))

    def rest(self, slope: float) -> float:
        """The sum of squares that a line of that slope through the means leaves."""
        centre, mean = self.centre, self.mean
        return fsum(
            (v - mean - slope * (a - centre)) ** 2
            for a, v in zip(self.ages, self.values, strict=True)
        )


def _gathered(points: Iterable[Point]) -> dict[str, _Sums]:
    by_batch: dict[str, list[Point]] = defaultdict(list)
    for point in sorted(points, key=lambda p: (p.batch, p.age, p.value, p.session)):
        by_batch[point.batch].append(point)
    found = {batch: _sums(own) for batch, own in by_batch.items()}
    for batch, sums in found.items():
        if not sums.spread:
            raise ValueError(f"{batch}: readings at one age only; a line takes two")
    return found


def _sums(points: Sequence[Point]) -> _Sums:
    return _Sums(
        tuple(p.age for p in points),
        tuple(p.value for p in points),
        tuple(p.session for p in points),
    )


def fit_lines(
    points: Sequence[Point],
    model: Model,
    *,
    shared: bool = True,
    calibration: Mapping[str, float] | None = None,
) -> tuple[Line, ...]:
    """The lines of a model: one for "common line", else one for each batch, by name.

    Args:
        points: the readings; each batch at two ages or more.
        model: what the batches share.
        shared: for "separate lines", whether all batches' scatter is taken together (ICH Q1E, with
            one mean square for all) or each line has its own.
        calibration: for a session, the standard uncertainty that its calibration adds to all of
            its readings alike.

    Raises ValueError where readings leave no degree of freedom.
    """
    groups = _gathered(points)
    several = len(groups) > 1
    if model == "common line":
        groups = {"": _sums(sorted(points, key=lambda p: (p.age, p.value, p.session)))}
    slopes = {name: own.along / own.spread for name, own in groups.items()}
    spreads = {name: own.spread for name, own in groups.items()}
    slope_from = {name: {name: own} for name, own in groups.items()}
    if model == "separate intercepts":
        every = fsum(spreads.values())
        slope = fsum(own.along for own in groups.values()) / every
        slopes, spreads = dict.fromkeys(groups, slope), dict.fromkeys(groups, every)
        slope_from = dict.fromkeys(groups, groups)
    alone = model == "separate lines" and not shared
    scatters = _scatters(groups, slopes, alone, one_slope=model == "separate intercepts")
    return tuple(
        Line(
            batch=name,
            slope=slopes[name],
            intercept=own.mean - slopes[name] * own.centre,
            scatter=scatters[name][0],
            df=scatters[name][1],
            shared=several and not alone,
            count=len(own.ages),
            centre=own.centre,
            spread=spreads[name],
            offset=_offset(slope_from[name], own, spreads[name], calibration or {}),
        )
        for name, own in groups.items()
    )


def _scatters(
    groups: Mapping[str, _Sums], slopes: Mapping[str, float], alone: bool, *, one_slope: bool
) -> dict[str, tuple[float, int]]:
    """The residual standard deviation for each line, with its degrees of freedom."""
    rests = {name: own.rest(slopes[name]) for name, own in groups.items()}
    count = sum(len(own.ages) for own in groups.values())
    taken = len(groups) + (1 if one_slope else len(groups))
    found = {}
    for name, own in groups.items():
        df = len(own.ages) - 2 if alone else count - taken
        if df < 1:
            raise ValueError(f"{name or 'all'}: as many lines as readings; add readings")
        found[name] = (sqrt((rests[name] if alone else fsum(rests.values())) / df), df)
    return found


def _offset(
    slope_from: Mapping[str, _Sums], own: _Sums, spread: float, calibration: Mapping[str, float]
) -> tuple[float, float, float]:
    """What common offsets of sessions add to the variance, by powers of the age from the centre.

    A line at an age is a weighted sum of readings; the weights of a session's readings add up, and
    its offset enters with their sum.
    """
    height: dict[str, float] = defaultdict(float)
    tilt: dict[str, float] = defaultdict(float)
    for session in own.sessions:
        height[session] += 1 / len(own.ages)
    for sums in slope_from.values():
        for age, session in zip(sums.ages, sums.sessions, strict=True):
            tilt[session] += (age - sums.centre) / spread
    squares = {session: u * u for session, u in calibration.items() if u}
    return (
        fsum(squares[s] * height[s] ** 2 for s in squares),
        fsum(2 * squares[s] * height[s] * tilt[s] for s in squares),
        fsum(squares[s] * tilt[s] ** 2 for s in squares),
    )


# Do the batches share a line? --------------------------------------------------------------------


@dataclass(frozen=True, slots=True, kw_only=True)
class Poolability:
    """The two tests of ICH Q1E, slopes first, then intercepts, and the model that they leave.

    Both hold the gain of the larger model against the mean square of separate lines.
    """

    slopes_f: float
    slopes_p: float
    intercepts_f: float
    intercepts_p: float
    df: tuple[int, int]
    model: Model


def poolability(points: Sequence[Point], *, at: float = POOL_AT) -> Poolability:
    """Whether batches may share a slope, and then an intercept, at a level of 0.25.

    Source: ICH Q1E (2003) B.2.2.1. Raises ValueError for fewer than two batches.
    """
    groups = _gathered(points)
    more = len(groups) - 1
    if more < 1:
        raise ValueError("one batch only; pooling compares two or more")
    every = _sums(points)
    slope = fsum(g.along for g in groups.values()) / fsum(g.spread for g in groups.values())
    separate = fsum(g.rest(g.along / g.spread) for g in groups.values())
    intercepts = fsum(g.rest(slope) for g in groups.values())
    common = every.rest(every.along / every.spread)
    df = len(points) - 2 * len(groups)
    if df < 1 or separate <= 0:
        raise ValueError("as many lines as readings; pooling takes readings to spare")
    slopes_f = (intercepts - separate) / more / (separate / df)
    intercepts_f = (common - intercepts) / more / (separate / df)
    slopes_p, intercepts_p = f_tail(slopes_f, more, df), f_tail(intercepts_f, more, df)
    model: Model = "common line" if intercepts_p > at else "separate intercepts"
    return Poolability(
        slopes_f=slopes_f,
        slopes_p=slopes_p,
        intercepts_f=intercepts_f,
        intercepts_p=intercepts_p,
        df=(more, df),
        model=model if slopes_p > at else "separate lines",
    )
