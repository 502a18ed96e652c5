"""The masses that make interval-censored outcomes most probable, found by self-consistency.

An outcome in (L, R] holds all of the supports, the innermost stretches, that lie in it, and these
are next to each other; so the chance of each outcome is a difference of two running sums. Each
support begins where some outcome begins. The chances of those outcomes give the masses one by one
from the right, so there is one best set of masses and no second one as likely.
"""

from __future__ import annotations

from bisect import bisect_left, bisect_right
from collections import Counter
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from itertools import accumulate, pairwise
from math import fsum, inf, log

from labbook.evidence.statistics.intervals import Interval, failed_while_making

__all__ = ["MAKING", "Fit", "Problem", "ends_of", "fit", "problem", "range_of"]

MAKING = -1.0
"""Where the stretch before 0 begins, so that a failure while making lies in (MAKING, 0]."""

CLOSE = 1e-9
"""How far the log-likelihood may be from its greatest value, in all; see `Fit.gap`."""
MOST_ROUNDS = 5_000

Ends = tuple[float, float]
Block = tuple[int, int, float]


@dataclass(frozen=True, slots=True)
class Problem:
    """Supports in order of age, and outcomes as ranges of supports with how often each occurs.

    `blocks` are ranges of supports with the share of all mass that each has to carry.
    """

    supports: tuple[Ends, ...]
    held: tuple[tuple[int, int, int], ...]
    blocks: tuple[Block, ...]
    size: int


@dataclass(frozen=True, slots=True)
class Fit:
    """The masses on the supports, and their log-likelihood.

    `gap` bounds from above what the log-likelihood still falls short of the greatest.
    """

    masses: tuple[float, ...]
    log_likelihood: float
    gap: float


def ends_of(one: Interval) -> Ends:
    """The half-open stretch of an outcome, with infinity for intact so far."""
    if failed_while_making(one):
        return (MAKING, 0.0)
    return (one.low, inf if one.high is None else one.high)


def problem(intervals: Iterable[Interval], split: tuple[float, float] | None = None) -> Problem:
    """The supports and ranges of outcomes.

    Args:
        intervals: at least one outcome.
        split: an age and the share of all mass that lies at or before it. None leaves all free.
    """
    ends = Counter(ends_of(one) for one in intervals)
    if split is None:
        supports = _innermost(ends)
        blocks: tuple[Block, ...] = ((0, len(supports), 1.0),)
    else:
        age, before = split
        early = _innermost((low, min(high, age)) for low, high in ends if low < age)
        late = _innermost((max(low, age), high) for low, high in ends if high > age)
        supports = early + late
        cut, most = len(early), len(supports)
        blocks = ((0, cut, before), (cut, most, 1 - before))
    held: Counter[tuple[int, int]] = Counter()
    for one, times in ends.items():
        held[range_of(supports, one)] += times
    return Problem(
        supports, tuple((a, b, times) for (a, b), times in held.items()), blocks, ends.total()
    )


def range_of(supports: Sequence[Ends], ends: Ends) -> tuple[int, int]:
    """Which supports lie in an outcome: from the first to just before the second number."""
    low, high = ends
    return (
        bisect_left(supports, low, key=lambda support: support[0]),
        bisect_right(supports, high, key=lambda support: support[1]),
    )


def _innermost(ends: Iterable[Ends]) -> tuple[Ends, ...]:
    """Stretches that begin where one outcome begins, end where one ends, and hold no other end.

    Half-open: an end at an age comes before a beginning at the same age.
    """
    marks = sorted({mark for low, high in ends for mark in ((high, 0), (low, 1))})
    return tuple(
        (low, high)
        for (low, first), (high, second) in pairwise(marks)
        if first == 1 and second == 0
    )


def fit(given: Problem, close: float = CLOSE) -> Fit:
    """The most probable masses, by steps of two kinds in turn.

    Turnbull's self-consistent step (J R Stat Soc B 38:290, 1976) never goes down; the convex
    minorant step gets near in few rounds and can empty a support or fill it again. The two in turn:
    Wellner and Zhan, J Am Stat Assoc 92:945 (1997). Stops where the log-likelihood is within
    `close` of the greatest.
    """
    masses = _even(given)
    for _ in range(MOST_ROUNDS):
        consistent, here = _consistent(given, masses)
        if here.gap <= close or here.log_likelihood == -inf:
            break
        masses = _minorant(given, consistent)
    return here


def _even(given: Problem) -> list[float]:
    return [
        share / (stop - start) for start, stop, share in given.blocks for _ in range(start, stop)
    ]


def _chances(given: Problem, masses: Sequence[float]) -> list[float]:
    """The chance of each kind of outcome."""
    sums = [0.0, *accumulate(masses)]
    chances = []
    for start, stop, _ in given.held:
        chance = sums[stop] - sums[start]
        # Where the difference of two sums has lost its digits, the masses themselves.
        chances.append(chance if chance > 1e-9 else sum(masses[start:stop]))
    return chances


def _level(given: Problem, chances: Sequence[float]) -> float:
    if not all(chance > 0 for chance in chances):
        return -inf
    return fsum(
        times * log(chance) for (_, _, times), chance in zip(given.held, chances, strict=True)
    )


def _consistent(given: Problem, masses: list[float]) -> tuple[list[float], Fit]:
    """Each mass times what it would gain by growing; and how good the masses handed in are."""
    chances = _chances(given, masses)
    level = _level(given, chances)
    if level == -inf:
        return masses, Fit(tuple(masses), -inf, inf)
    slopes = [0.0] * (len(masses) + 1)
    for (start, stop, times), chance in zip(given.held, chances, strict=True):
        slopes[start] += times / chance
        slopes[stop] -= times / chance
    gains = list(accumulate(slopes[:-1]))
    following: list[float] = []
    gap = 0.0
    for start, stop, share in given.blocks:
        counts = [masses[j] * gains[j] for j in range(start, stop)]
        total = fsum(counts)
        following += [share * count / total for count in counts] if total else counts
        if share and counts:
            gap += share * max(gains[start:stop]) - total
    return following, Fit(tuple(masses), level, gap)


def _minorant(given: Problem, masses: list[float]) -> list[float]:
    """Masses from a Newton step in each running sum by itself, made monotone again.

    Shortened until the likelihood rises; the masses handed in where none does.
    """
    chances = _chances(given, masses)
    level = _level(given, chances)
    slope, weight = [0.0] * (len(masses) + 1), [0.0] * (len(masses) + 1)
    for (start, stop, times), chance in zip(given.held, chances, strict=True):
        pull = times / chance
        slope[start] -= pull
        slope[stop] += pull
        weight[start] += pull / chance
        weight[stop] += pull / chance
    sums = [0.0, *accumulate(masses)]
    aimed = sums[:]
    for begin, stop, _ in given.blocks:
        inner = range(begin + 1, stop)
        wanted = [(sums[k] + slope[k] / weight[k], weight[k]) for k in inner]
        for k, value in zip(inner, _rising(wanted), strict=True):
            aimed[k] = min(max(value, sums[begin]), sums[stop])
    goal = [b - a for a, b in pairwise(aimed)]
    size = 1.0
    while size > 1e-6:
        moved = [m + size * (g - m) for m, g in zip(masses, goal, strict=True)]
        if _level(given, _chances(given, moved)) > level:
            return moved
        size /= 2
    return masses


def _rising(wanted: Iterable[tuple[float, float]]) -> list[float]:
    """The nearest sequence that never falls, by weighted squares: pool what is out of order."""
    pools: list[tuple[float, float, int]] = []
    for value, weight in wanted:
        size = 1
        while pools and pools[-1][0] >= value:
            before, heavy, many = pools.pop()
            value = (before * heavy + value * weight) / (heavy + weight)
            weight, size = heavy + weight, size + many
        pools.append((value, weight, size))
    return [value for value, _, size in pools for _ in range(size)]
