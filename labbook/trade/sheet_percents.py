"""Percents of a maker's table as they would be written: as typed, or worked out and rounded.

What is worked out is rounded line by line, and the largest line takes what the rounding left, so
that the lines still add up.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from decimal import Decimal
from fractions import Fraction

from labbook.trade.exact import decimals_needed, to_decimal, to_places
from labbook.trade.sheet_amounts import Amount
from labbook.trade.sheet_rows import Row

WHOLE = Fraction(100)
FINEST = 4
"""Decimals of a percent that was worked out, at most."""

Item = tuple[Row, Amount]


@dataclass(frozen=True, slots=True)
class Share:
    """A line's percent as it would be written, None for q.s. and where it is open."""

    percent: Decimal | None = None
    on_top: bool = False


def as_typed(amount: Amount, value: Fraction | None) -> Share:
    """A percent with the digits of the file, where its decimals end."""
    if value is None:
        return Share()
    if amount.typed is not None and Fraction(amount.typed) == value:
        return Share(amount.typed)
    return Share(to_decimal(value))


def of_whole(
    items: Sequence[Item], values: Sequence[Fraction | None], whole: Fraction, top: Sequence[bool]
) -> list[Share]:
    """Shares of the whole in percent, rounded so that they add up to what they add up to."""
    exact = {n: v / whole * 100 for n, v in enumerate(values) if v is not None and whole}
    places = _places(list(exact.values()))
    found = {n: to_places(one, places) for n, one in exact.items()}
    filled = any(amount.qs for _, amount in items)
    if found and not filled:
        largest = max(exact, key=lambda n: exact[n])
        left = sum(exact.values(), Fraction()) - sum(map(Fraction, found.values()))
        found[largest] += to_places(left, places)
    return [Share(found.get(n), on_top) for n, on_top in enumerate(top)]


def _places(values: Sequence[Fraction]) -> int:
    """Decimals: all where they end soon, else three figures of the smallest share."""
    needed = [decimals_needed(value) for value in values]
    ends = [n for n in needed if n is not None and n <= FINEST]
    if len(ends) == len(values):
        return max(ends, default=0)
    smallest = min((value for value in values if value), default=WHOLE)
    places = 2
    while places < FINEST and smallest * 10**places < 100:
        places += 1
    return places
