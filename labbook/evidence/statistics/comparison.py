"""Did one group fail earlier than another? A score test on half-open intervals.

Each outcome gets a score from the curve of both groups together: positive for failing early. The
sum over one group, held against all ways of dealing the scores to the groups, gives the p.
"""

from __future__ import annotations

import random
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from itertools import accumulate, combinations, pairwise
from math import comb, fsum, log
from typing import Literal

from labbook.evidence.statistics.intervals import Interval
from labbook.evidence.statistics.likelihood import ends_of, fit, problem, range_of

__all__ = ["Comparison", "Group", "Kind", "compare", "permuted", "scores"]

Kind = Literal["log-rank", "proportional hazards", "wilcoxon"]
"""The three sets of scores: Sun's, which is the log-rank test where all had the same looks;
Finkelstein's, for proportional hazards on grouped ages; and the generalised Wilcoxon."""

MOST_ARRANGEMENTS = 10_000
LEAST_PER_GROUP = 4
SEED = 20_001


@dataclass(frozen=True, slots=True)
class Group:
    """One group: its name, how many were watched, and how many of those failed."""

    name: str
    of: int
    failed: int


@dataclass(frozen=True, slots=True, kw_only=True)
class Comparison:
    """Two groups, the summed score of the first, and how often chance alone gives as much.

    `score` above 0: the first failed earlier than the second. `p` is two-sided, and None below 4
    and 4, for the reason in `why_no_p`. `exact`: all `arrangements` were looked at, else so many of
    them were drawn. `smallest_p` is the smallest that these numbers of batches could give whatever
    became of them; `smallest_p_as_seen` is what they would give had what was seen been dealt most
    unevenly.
    """

    first: Group
    second: Group
    score: float
    p: float | None
    why_no_p: str
    exact: bool
    arrangements: int
    smallest_p: float
    smallest_p_as_seen: float


def compare(
    first: Sequence[Interval],
    second: Sequence[Interval],
    *,
    names: tuple[str, str] = ("first", "second"),
    kind: Kind = "log-rank",
    seed: int = SEED,
) -> Comparison:
    """Compares two groups of batches; their order is immaterial.

    The permutation holds where both groups were watched by the same plan. Looks at other ages
    leave the mean of the scores at 0 and change their spread only. Raises ValueError for an empty
    group.
    """
    if not first or not second:
        empty = names[0] if not first else names[1]
        raise ValueError(f"{empty}: no outcomes to compare; leave the comparison out")
    given = scores([*first, *second], kind)
    own = given[: len(first)]
    few = min(len(first), len(second))
    every = comb(len(given), few)
    why = ""
    p, looked = None, every
    if few < LEAST_PER_GROUP:
        why = (
            f"{len(first)} and {len(second)} batches: a p-value takes at least "
            f"{LEAST_PER_GROUP} and {LEAST_PER_GROUP}"
        )
    else:
        p, looked = permuted(given, own, seed=seed)
    return Comparison(
        first=_group(names[0], first),
        second=_group(names[1], second),
        score=fsum(own),
        p=p,
        why_no_p=why,
        exact=looked == every,
        arrangements=looked,
        smallest_p=(2 if 2 * few == len(given) else 1) / every,
        smallest_p_as_seen=_most_uneven(given, few) / every,
    )


def _group(name: str, outcomes: Sequence[Interval]) -> Group:
    return Group(name, len(outcomes), sum(one.failed for one in outcomes))


def scores(intervals: Sequence[Interval], kind: Kind = "log-rank") -> tuple[float, ...]:
    """A score for each outcome, from the curve of all of them; they sum to 0.

    Sun, Stat Med 15:1387 (1996); Finkelstein, Biometrics 42:845 (1986); Peto and Peto, J R Stat
    Soc A 135:185 (1972), carried over to intervals.
    """
    given = problem(intervals)
    masses = fit(given).masses
    left = [1.0]  # the share intact after so many supports
    for mass in masses:
        left.append(max(left[-1] - mass, 0.0))
    left[-1] = 0.0
    risen = _risen(left, kind)
    sums = [0.0, *accumulate(masses)]
    ranges = (range_of(given.supports, ends_of(one)) for one in intervals)
    return tuple((risen[a] - risen[b]) / (sums[b] - sums[a]) for a, b in ranges)


def _risen(left: Sequence[float], kind: Kind) -> list[float]:
    """A running quantity whose fall over an outcome's range, for its chance, is its score."""
    if kind == "wilcoxon":
        return [s * s - s for s in left]
    if kind == "proportional hazards":
        return [s * log(s) if s > 0 else 0.0 for s in left]
    hazard, risen = 0.0, [0.0]
    for before, after in pairwise(left):
        hazard += (before - after) / before if before > 0 else 0.0
        risen.append(-after * hazard)
    return risen


def permuted(
    every: Sequence[float], own: Sequence[float], *, seed: int = SEED
) -> tuple[float, int]:
    """How often dealing the scores anew gives a sum at least as far from 0, and of how many.

    All arrangements up to 10,000; beyond, so many are drawn, from the seed alone, and the one that
    was seen is counted with them, so that p is never 0. Swapping the groups changes nothing.
    """
    few = min(len(own), len(every) - len(own))
    ordered = sorted(every)
    far = _far_from(abs(fsum(own)), ordered)
    if comb(len(every), few) <= MOST_ARRANGEMENTS:
        hits = sum(far(sum(dealt)) for dealt in combinations(ordered, few))
        return hits / comb(len(every), few), comb(len(every), few)
    draw = random.Random(seed)
    hits = sum(far(sum(draw.sample(ordered, few))) for _ in range(MOST_ARRANGEMENTS))
    return (hits + 1) / (MOST_ARRANGEMENTS + 1), MOST_ARRANGEMENTS


def _far_from(sum_seen: float, ordered: Sequence[float]) -> Callable[[float], bool]:
    """Whether a sum is as far from 0 as the one seen; equal but for rounding counts."""
    room = _room(ordered)
    return lambda total: abs(total) >= sum_seen - room


def _room(scores_: Sequence[float]) -> float:
    """How far scores may lie apart and be equal but for rounding."""
    return 1e-7 * max(fsum(map(abs, scores_)) / len(scores_), 1e-12)


def _most_uneven(every: Sequence[float], few: int) -> int:
    """How many arrangements reach the greatest distance from 0 that any reaches."""
    rising = sorted(every)
    ends = (rising[-few:], rising[:few])
    furthest = max(abs(fsum(end)) for end in ends)
    far = _far_from(furthest, rising)
    if far(0.0):
        return comb(len(every), few)
    inner = (rising[-few], rising[few - 1])  # of each end, the score next to those not in it
    room = _room(rising)

    def ties(scores_: Sequence[float], edge: float) -> int:
        return sum(abs(one - edge) <= room for one in scores_)

    return sum(
        comb(ties(rising, edge), ties(end, edge))
        for edge, end in zip(inner, ends, strict=True)
        if far(fsum(end))
    )
