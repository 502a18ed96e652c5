"""The same chances by another way: every side spelled out, fractions, and no closed form shared.

For a set of causes the sides of all undecided rows are run through one by one. Both rates and the
share of undecided rows on the failed side are integrated as polynomials, term by term, so that the
answers are exact fractions.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from fractions import Fraction
from itertools import combinations, product

from labbook.evidence.causes import Row, Suspect

Poly = list[Fraction]


def times(one: Poly, other: Poly) -> Poly:
    found = [Fraction(0)] * (len(one) + len(other) - 1)
    for i, a in enumerate(one):
        for j, b in enumerate(other):
            found[i + j] += a * b
    return found


def power(base: Poly, n: int) -> Poly:
    found = [Fraction(1)]
    for _ in range(n):
        found = times(found, base)
    return found


def integral(poly: Poly) -> Fraction:
    """From 0 to 1."""
    return sum((c / (i + 1) for i, c in enumerate(poly)), Fraction(0))


X: Poly = [Fraction(0), Fraction(1)]
ONE_LESS_X: Poly = [Fraction(1), Fraction(-1)]
DENSITIES: dict[str, Poly] = {}
"""Densities of rates, as polynomials that integrate to 1."""
for _name, _a, _b in (("9,1", 8, 0), ("2,2", 1, 1), ("1,9", 0, 8), ("1,1", 0, 0)):
    _shape = times(power(X, _a), power(ONE_LESS_X, _b))
    _whole = integral(_shape)
    DENSITIES[_name] = [c / _whole for c in _shape]
DENSITIES["mixed"] = [
    (a + b) / 2 for a, b in zip(DENSITIES["9,1"], DENSITIES["2,2"] + [Fraction(0)] * 6, strict=True)
]
WITH_CAUSE = {"mixed": "mixed", "always": "9,1", "sometimes": "2,2"}


def expected(density: Poly, yes: int, no: int) -> Fraction:
    """The chance of so many events and non-events in one order."""
    return integral(times(density, times(power(X, yes), power(ONE_LESS_X, no))))


Hypothesis = tuple[tuple[int, ...], tuple[int, int] | None]


def side(row: Row, of: Hypothesis, given: dict[int, bool]) -> bool:
    """Is the row on the failed side, undecided suspects being as given."""
    singles, pair = of

    def on(i: int) -> bool:
        known = row.sides[i]
        return given[i] if known is None else known

    return any(on(i) for i in singles) or (pair is not None and on(pair[0]) and on(pair[1]))


def possible(row: Row, of: Hypothesis) -> set[bool]:
    """The sides that the row can be on."""
    singles, pair = of
    loose = [i for i in {*singles, *(pair or ())} if row.sides[i] is None]
    return {
        side(row, of, dict(zip(loose, values, strict=True)))
        for values in product((False, True), repeat=len(loose))
    }


def likelihood(rows: Sequence[Row], of: Hypothesis, rate: str, outside: bool) -> Fraction:
    sides = [possible(row, of) for row in rows]
    total = Fraction(0)
    for chosen in product(*(sorted(s) for s in sides)):
        acting = [r.failed for r, on in zip(rows, chosen, strict=True) if on]
        idle = [r.failed for r, on in zip(rows, chosen, strict=True) if not on]
        loose = [on for on, s in zip(chosen, sides, strict=True) if len(s) == 2]
        total += (
            expected(DENSITIES[WITH_CAUSE[rate]], sum(acting), len(acting) - sum(acting))
            * expected(DENSITIES["1,1" if outside else "1,9"], sum(idle), len(idle) - sum(idle))
            * expected(DENSITIES["1,1"], sum(loose), len(loose) - sum(loose))
        )
    return total


def hypotheses(suspects: Sequence[Suspect], pairs: bool) -> Iterator[tuple[Hypothesis, Fraction]]:
    """Each set of causes with its chance beforehand."""
    k = len(suspects)
    p = [Fraction(s.prior) for s in suspects]

    def chance(singles: tuple[int, ...]) -> Fraction:
        found = Fraction(1)
        for i in range(k):
            found *= p[i] if i in singles else 1 - p[i]
        return found

    singly = [c for n in range(k + 1) for c in combinations(range(k), n)]
    paired = [
        (c, pair)
        for pair in combinations(range(k), 2)
        for c in singly
        if len(c) <= 2 and not set(pair) & set(c)
    ]
    if not pairs or not paired:
        yield from (((c, None), chance(c)) for c in singly)
        return
    yield from (((c, None), chance(c) * (1 - Fraction(0.1))) for c in singly)
    whole = sum((chance(c) for c, _ in paired), Fraction(0))
    yield from (((c, pair), chance(c) / whole * Fraction(0.1)) for c, pair in paired)


class Brute:
    """All chances after the rows, by adding up."""

    def __init__(
        self,
        suspects: Sequence[Suspect],
        rows: Sequence[Row],
        rate: str,
        outside: float,
        pairs: bool = False,
    ) -> None:
        weighed: list[tuple[Hypothesis, bool, Fraction]] = []
        for of, prior in hypotheses(suspects, pairs):
            for beyond in (False, True):
                share = Fraction(outside) if beyond else 1 - Fraction(outside)
                if share:
                    weight = prior * share * likelihood(rows, of, rate, beyond)
                    weighed.append((of, beyond, weight))
        self.whole = sum((w for _, _, w in weighed), Fraction(0))
        """The chance of the outcomes."""
        self.weighed = [(of, beyond, w / self.whole) for of, beyond, w in weighed]

    def marginal(self, i: int) -> float:
        return float(sum(w for (singles, _), _, w in self.weighed if i in singles))

    def both(self, i: int, j: int) -> float:
        return float(sum(w for (s, _), _, w in self.weighed if i in s and j in s))

    @property
    def outside(self) -> float:
        return float(sum(w for _, beyond, w in self.weighed if beyond))

    @property
    def any_cause(self) -> float:
        return float(sum(w for (singles, pair), _, w in self.weighed if singles or pair))

    def pair(self, i: int, j: int) -> float:
        return float(sum(w for (_, pair), _, w in self.weighed if pair == (i, j)))
