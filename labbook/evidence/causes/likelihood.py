"""How probable the outcomes are under one set of causes, both rates integrated out.

What a set of causes says of the rows comes down to four counts: how many failed and intact rows it
puts on the failed side, and how many of each it leaves undecided. With F failed and N intact rows
in all, f and n of them on the failed side, the probability is

    T[f, n] = L1(f, n) * L0(F - f, N - n)

with L1 and L0 the Beta-binomial probabilities of one order of outcomes at the rate with a cause and
the rate without. Undecided rows are summed over both sides, the share on the failed side being
uniform: a of m failed and b of n intact ones on the failed side weigh
C(m, a) C(n, b) B(a + b + 1, m + n - a - b + 1).
"""

from __future__ import annotations

from collections.abc import Sequence
from functools import lru_cache
from itertools import chain
from math import comb, exp, lgamma
from operator import mul

from labbook.evidence.causes.types import RATES, Rate

__all__ = ["WITHOUT", "WITH_OUTSIDE", "Counted", "Likelihood"]

WITHOUT = (1.0, 9.0)
"""The rate with no cause on the failed side: one in ten, loosely held."""
WITH_OUTSIDE = (1.0, 1.0)
"""The same where something that isn't recorded makes batches fail: any rate."""

Counted = tuple[int, int, int, int]
"""Failed and intact rows on the failed side, then failed and intact rows that are undecided."""

_ROOM = 690.0
"""Probabilities of one order of outcomes are scaled by e ** 690, so that small ones don't vanish: a
float holds e ** 709 at most and e ** -745 at least, and a thousand tossed coins have e ** -693."""


class Likelihood:
    """Probabilities of the outcomes by counts, up to one factor common to all sets and rates.

    Each answer is a pair or two: without and with something outside the notebook. A rate that is a
    mixture is the same mixture of the answers for its parts, so the parts are what is remembered.
    """

    def __init__(self, failed: int, intact: int) -> None:
        self._failed, self._intact = failed, intact
        self._parts: dict[tuple[float, float], _Part] = {}
        self._corners: dict[tuple[Rate, float], _Table] = {}
        self._mixtures: dict[Rate, list[tuple[float, _Part]]] = {}

    def of(self, counted: Counted, rate: Rate) -> tuple[float, float]:
        """The probability of the outcomes, without and with something outside."""
        plain = outside = 0.0
        for weight, part in self._mixture(rate):
            one, other = part.of(counted)
            plain += weight * one
            outside += weight * other
        return plain, outside

    def failing_next(self, counted: Counted, rate: Rate) -> tuple[float, float, float, float]:
        """The probability of the outcomes and that one more batch fails.

        On the failed side without and with something outside, then the same on the other side.
        """
        found = [0.0] * 4
        for weight, part in self._mixture(rate):
            for at, value in enumerate(part.failing_next(counted)):
                found[at] += weight * value
        return found[0], found[1], found[2], found[3]

    def at_most(self, counted: Counted, rate: Rate, outside: float) -> float:
        """A bound on (1 - outside) · without + outside · with something outside, in less time.

        Every entry of T is a mean of powers of rates, so T is log-convex in both counts, and so is
        any sum of such tables: over a block of counts it is largest at a corner of the block.
        """
        key = (rate, outside)
        corners = self._corners.get(key)
        if corners is None:
            corners = self._corners[key] = _corners(self._blend(rate, outside))
        failed, intact, loose_failed, loose_intact = counted
        part = slice(intact, intact + loose_intact + 1, _WIDE)
        rows = corners[failed : failed + loose_failed + 1 : _HIGH]
        highest = chain.from_iterable([row[part] for row in rows])
        most: float = sum(map(mul, _blocks(loose_failed, loose_intact), highest))
        return most

    def _blend(self, rate: Rate, outside: float) -> _Table:
        """One table for a rate and a chance of something outside."""
        shares = [
            (weight * share, table)
            for weight, part in self._mixture(rate)
            for share, table in zip((1 - outside, outside), part.tables, strict=True)
        ]
        return [
            [sum(share * table[f][n] for share, table in shares) for n in range(self._intact + 1)]
            for f in range(self._failed + 1)
        ]

    def _mixture(self, rate: Rate) -> list[tuple[float, _Part]]:
        """The parts of a rate, with their weights."""
        found = self._mixtures.get(rate)
        if found is None:
            found = []
            for weight, a, b in RATES[rate]:
                if (a, b) not in self._parts:
                    self._parts[a, b] = _Part(self._failed, self._intact, a, b)
                found.append((weight, self._parts[a, b]))
            self._mixtures[rate] = found
        return found


class _Part:
    """The same for a rate with a cause of one Beta distribution."""

    def __init__(self, failed: int, intact: int, a: float, b: float) -> None:
        self._failed, self._intact = failed, intact
        self._a, self._b = a, b
        self.tables = [self._table(*base) for base in (WITHOUT, WITH_OUTSIDE)]
        self._known: dict[Counted, tuple[float, float]] = {}
        self._ahead: list[_Table] | None = None
        self._known_ahead: dict[Counted, tuple[float, float, float, float]] = {}

    def of(self, counted: Counted) -> tuple[float, float]:
        found = self._known.get(counted)
        if found is None:
            plain, outside = _summed(self.tables, counted)
            found = self._known[counted] = (plain, outside)
        return found

    def failing_next(self, counted: Counted) -> tuple[float, float, float, float]:
        found = self._known_ahead.get(counted)
        if found is None:
            if self._ahead is None:
                self._ahead = self._one_more()
            a, b, c, d = _summed(self._ahead, counted)
            found = self._known_ahead[counted] = (a, b, c, d)
        return found

    def _table(self, a: float, b: float) -> _Table:
        """T, scaled: the rate with a cause this part's, the other Beta(a, b)."""
        failed, intact = self._failed, self._intact
        first = _log_betas(self._a, self._b, failed, intact)
        second = _log_betas(a, b, failed, intact)
        return [
            [exp(_ROOM + x + second[failed - f][intact - n]) for n, x in enumerate(row)]
            for f, row in enumerate(first)
        ]

    def _one_more(self) -> list[_Table]:
        """The tables with one more failed row: on the failed side twice, on the other twice."""
        failed, intact, a, b = self._failed, self._intact, self._a, self._b
        acting = [
            [
                [x * (a + f) / (a + b + f + n) for n, x in enumerate(row)]
                for f, row in enumerate(table)
            ]
            for table in self.tables
        ]
        idle = [
            [
                [
                    x * (a + failed - f) / (a + b + failed - f + intact - n)
                    for n, x in enumerate(row)
                ]
                for f, row in enumerate(table)
            ]
            for table, (a, b) in zip(self.tables, (WITHOUT, WITH_OUTSIDE), strict=True)
        ]
        return acting + idle


def _log_betas(a: float, b: float, failed: int, intact: int) -> _Table:
    """Log of B(a + f, b + n) / B(a, b) for all f up to `failed` and n up to `intact`."""
    fails = [lgamma(a + f) - lgamma(a) for f in range(failed + 1)]
    holds = [lgamma(b + n) - lgamma(b) for n in range(intact + 1)]
    all_ = [lgamma(a + b + x) - lgamma(a + b) for x in range(failed + intact + 1)]
    return [[x + y - all_[f + n] for n, y in enumerate(holds)] for f, x in enumerate(fails)]


_Table = list[list[float]]

_HIGH, _WIDE = 4, 8
"""So many failed by so many intact rows are one block of a bound."""


def _corners(table: _Table) -> _Table:
    """Per entry the largest corner of the block that starts there."""
    height, width = len(table), len(table[0])
    sideways = [
        [max(row[n], row[min(n + _WIDE, width) - 1]) for n in range(width)] for row in table
    ]
    return [
        list(map(max, row, sideways[min(f + _HIGH, height) - 1])) for f, row in enumerate(sideways)
    ]


@lru_cache(maxsize=4096)
def _blocks(failed: int, intact: int) -> list[float]:
    """The weights of undecided rows, summed over blocks."""
    weights, width = _weights(failed, intact), intact + 1
    found = []
    for top in range(0, failed + 1, _HIGH):
        rows = range(top, min(top + _HIGH, failed + 1))
        for left in range(0, width, _WIDE):
            right = min(left + _WIDE, width)
            found.append(sum(sum(weights[a * width + left : a * width + right]) for a in rows))
    return found


def _summed(tables: Sequence[_Table], counted: Counted) -> list[float]:
    """Each table's entry for the counts, the undecided rows summed over both sides."""
    failed, intact, loose_failed, loose_intact = counted
    if not loose_failed and not loose_intact:
        return [table[failed][intact] for table in tables]
    part = slice(intact, intact + loose_intact + 1)
    weights = _weights(loose_failed, loose_intact)
    return [
        sum(
            map(
                mul,
                weights,
                chain.from_iterable(
                    [row[part] for row in table[failed : failed + loose_failed + 1]]
                ),
            )
        )
        for table in tables
    ]


@lru_cache(maxsize=4096)
def _weights(failed: int, intact: int) -> list[float]:
    """C(m, a) C(n, b) B(a + b + 1, m + n - a - b + 1), by a and then b: m failed, n intact."""
    ways = [float(comb(intact, b)) for b in range(intact + 1)]
    size = failed + intact
    shares = [1 / ((size + 1) * comb(size, s)) for s in range(size + 1)]
    found: list[float] = []
    for a in range(failed + 1):
        way = float(comb(failed, a))
        found += [way * x * y for x, y in zip(ways, shares[a:], strict=False)]
    return found
