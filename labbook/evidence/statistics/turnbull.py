"""How many stay intact how long, where failures are known only to lie between two looks.

Turnbull's estimator on half-open intervals (L, R]: intact at L, failed at R. Where within a stretch
the failures lie is not determined; there the curve has an upper and a lower bound and no line.
"""

from __future__ import annotations

from collections.abc import Collection, Iterable, Sequence
from dataclasses import dataclass
from itertools import pairwise
from math import fsum, inf, sqrt

from labbook.evidence.statistics.distributions import bisect, chi_square_quantile
from labbook.evidence.statistics.intervals import Interval, failed_while_making, latest
from labbook.evidence.statistics.likelihood import MAKING, fit, problem
from labbook.evidence.statistics.refusal import Refusal

__all__ = [
    "Between",
    "Curve",
    "Piece",
    "Step",
    "Stretch",
    "bounds_at",
    "kaplan_meier",
    "turnbull",
]

LEAST_FOR_BOUNDS = 8
"""Below so many outcomes the distribution that the bounds rest on is too rough."""


@dataclass(frozen=True, slots=True)
class Between:
    """A share that lies between two values; equal where it is determined."""

    low: float
    high: float


@dataclass(frozen=True, slots=True)
class Stretch:
    """A stretch (start, end] in which a share of all fails; an end of None is not yet."""

    start: float
    end: float | None
    mass: float


@dataclass(frozen=True, slots=True)
class Piece:
    """A part of the curve from `start` up to, not including, `end`.

    The share intact lies between `low` and `high`; they are equal where it is determined.
    """

    start: float
    end: float
    low: float
    high: float

    @property
    def determined(self) -> bool:
        """Whether the outcomes say what the share is here."""
        return self.low == self.high


@dataclass(frozen=True, slots=True, kw_only=True)
class Curve:
    """The share intact by age.

    `stretches` lie after 0, in order; `while_making` is the share that failed at 0. `pieces` tile
    the ages from 0 to `until`, the last look that says anything; there is no curve beyond it.
    `gap` bounds what the log-likelihood falls short of the greatest.
    """

    of: int
    failed: int
    while_making: float
    stretches: tuple[Stretch, ...]
    pieces: tuple[Piece, ...]
    until: float
    log_likelihood: float
    gap: float

    def intact(self, age: float) -> Between | Refusal:
        """The share still intact at an age."""
        if not 0 <= age <= self.until:
            return Refusal(f"{age:g} is not within what was watched, which ends at {self.until:g}")
        return _between(self.while_making, self.stretches, age, age)


def turnbull(intervals: Iterable[Interval]) -> Curve | Refusal:
    """The curve of a group of batches or jars, in any order.

    Refused where there are none.
    """
    outcomes = tuple(intervals)
    if not outcomes:
        return Refusal("nobody has looked yet, so there is nothing to draw")
    given = problem(outcomes)
    found = fit(given)
    masses = dict(zip(given.supports, found.masses, strict=True))
    making = masses.pop((MAKING, 0.0), 0.0)
    kept = {ends: mass for ends, mass in masses.items() if mass > 1e-9}
    scale = (1 - making) / fsum(kept.values()) if kept else 1.0
    stretches = tuple(
        Stretch(start, None if end == inf else end, mass * scale)
        for (start, end), mass in kept.items()
    )
    until = latest(outcomes)
    return Curve(
        of=len(outcomes),
        failed=sum(one.failed for one in outcomes),
        while_making=making,
        stretches=stretches,
        pieces=_pieces(making, stretches, until),
        until=until,
        log_likelihood=found.log_likelihood,
        gap=found.gap,
    )


def _end(stretch: Stretch) -> float:
    return inf if stretch.end is None else stretch.end


def _pieces(making: float, stretches: Sequence[Stretch], until: float) -> tuple[Piece, ...]:
    """The curve as pieces that touch and never rise."""
    marks = {0.0, until, *(s.start for s in stretches), *(s.end for s in stretches if s.end)}
    ages = sorted(mark for mark in marks if mark <= until)
    return tuple(
        Piece(start, end, share.low, share.high)
        for start, end in pairwise(ages)
        for share in (_between(making, stretches, start, end),)
    )


def _between(making: float, stretches: Sequence[Stretch], start: float, end: float) -> Between:
    """The share intact over ages that lie in one piece of the curve, or at a single age."""
    surely = [s.mass for s in stretches if _end(s) <= start]
    perhaps = [s.mass for s in stretches if s.start < end]
    low, high = (1 - fsum([making, *lost]) for lost in (perhaps, surely))
    return Between(low if low > 1e-12 else 0.0, high if high > 1e-12 else 0.0)


# Bounds ------------------------------------------------------------------------------------------


def bounds_at(
    intervals: Sequence[Interval], age: float, *, level: float = 0.95
) -> Between | Refusal:
    """Bounds for the true share intact at one age, two-sided.

    All shares that the outcomes don't speak against: with the share held, the greatest likelihood
    falls short of the greatest of all by no more than half a chi-square quantile with one degree
    of freedom. The bounds reach over undetermined stretches. Refused below 8 outcomes, where an
    exact bound for counts is the honest one, and beyond the last look.
    """
    if len(intervals) < LEAST_FOR_BOUNDS:
        return Refusal(
            f"{len(intervals)} outcomes; bounds of the curve take at least {LEAST_FOR_BOUNDS}, and "
            "below that the exact bound for a count stands"
        )
    if not 0 <= age <= latest(intervals):
        return Refusal(
            f"{age:g} is not within what was watched, which ends at {latest(intervals):g}"
        )
    found = turnbull(intervals)
    assert isinstance(found, Curve)
    here = found.intact(age)
    assert isinstance(here, Between)
    lowest = found.log_likelihood - chi_square_quantile(level) / 2

    def short(intact: float) -> float:
        return lowest - fit(problem(intervals, (age, 1 - intact)), 1e-6).log_likelihood

    low = bisect(lambda s: -short(s), 0.0, here.low, 1e-5) if short(0.0) > 0 else 0.0
    high = bisect(short, here.high, 1.0, 1e-5) if short(1.0) > 0 else 1.0
    return Between(low, high)


# The special case --------------------------------------------------------------------------------


@dataclass(frozen=True, slots=True, kw_only=True)
class Step:
    """One step of Kaplan and Meier's curve, at a look that found failures.

    `before` was the last look at which all of them were intact: between the two the share lies
    between `intact` of the step before and of this one. `error` is Greenwood's standard error.
    """

    before: float
    age: float
    at_risk: int
    failed: int
    intact: float
    error: float


def kaplan_meier(
    intervals: Sequence[Interval], looks: Sequence[Collection[float]]
) -> tuple[Step, ...] | Refusal:
    """Kaplan and Meier's steps (J Am Stat Assoc 53:457, 1958), where all had the same looks.

    Args:
        intervals: the outcomes.
        looks: the ages of the looks at each, in the same order; what came after a failure doesn't
            count. Failures while making need no look.

    Refused where one was not looked at on a day on which another was, before its own watching
    ended: failures would be put down to the later look, and the curve would flatter.
    """
    if len(looks) != len(intervals):
        raise ValueError(f"{len(looks)} lists of looks for {len(intervals)} outcomes")
    ends = [one.low if one.high is None else one.high for one in intervals]
    counted = [
        {age for age in ages if 0 < age <= end} for ages, end in zip(looks, ends, strict=True)
    ]
    every = set().union(*counted)
    for one, own, end in zip(intervals, counted, ends, strict=True):
        for age in sorted(every):
            if age <= end and age not in own:
                return Refusal(
                    f"not all were looked at on the same days: {one.name or 'one'} was not looked "
                    f"at on day {age:g}; such a curve would flatter"
                )
    days = [0.0, *sorted(every)]
    steps, intact, spread = [], 1.0, 0.0
    for before, age in [(0.0, 0.0), *pairwise(days)]:
        at_risk = sum(end >= age for end in ends) - (
            sum(map(failed_while_making, intervals)) if age else 0
        )
        failed = sum(one.high == age for one in intervals)
        if not failed:
            continue
        intact *= 1 - failed / at_risk
        spread += failed / (at_risk * (at_risk - failed)) if at_risk > failed else 0.0
        steps.append(
            Step(
                before=before, age=age, at_risk=at_risk, failed=failed, intact=intact,
                error=intact * sqrt(spread),
            )
        )  # fmt: skip
    return tuple(steps)
