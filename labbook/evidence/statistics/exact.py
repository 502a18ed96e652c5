"""Exact bounds for a share: how many of all could fail when k of n did.

Clopper and Pearson's bounds (Biometrika 26:404, 1934): the shares at which what was seen, or more
of it, would still have happened often enough. They cover at least as often as they say.
"""

from __future__ import annotations

from dataclasses import dataclass
from fractions import Fraction
from math import ceil

from labbook.evidence.statistics.distributions import at_least, bisect

__all__ = ["Share", "at_most_share", "least_share", "none_of", "share"]


@dataclass(frozen=True, slots=True, kw_only=True)
class Share:
    """A share that was seen, with bounds for the true one.

    `low` and `high` together hold at `level`; each is a one-sided bound where the other is 0 or 1.
    """

    failed: int
    of: int
    low: float
    high: float
    level: float

    @property
    def seen(self) -> float:
        """The share that was seen."""
        return self.failed / self.of


def share(failed: int, of: int, *, level: float = 0.95) -> Share:
    """The two-sided bounds for a true share when so many failed of so many.

    Each side leaves half of what `level` leaves. Raises ValueError for a count outside 0 to `of`,
    for `of` below 1, and for a level outside 0 to 1.
    """
    each = 1 - (1 - level) / 2
    return Share(
        failed=failed,
        of=of,
        low=least_share(failed, of, level=each),
        high=at_most_share(failed, of, level=each),
        level=level,
    )


def at_most_share(failed: int, of: int, *, level: float = 0.95) -> float:
    """The one-sided upper bound: the true share is at most this, at that level.

    Raises ValueError as `share` does.
    """
    _checked(failed, of, level)
    if failed == of:
        return 1.0
    if failed == 0:
        return 1 - float((1 - level) ** (1 / of))
    return bisect(lambda p: at_least(failed + 1, of, p) - level, 0.0, 1.0)


def least_share(failed: int, of: int, *, level: float = 0.95) -> float:
    """The one-sided lower bound: the true share is at least this, at that level.

    Raises ValueError as `share` does.
    """
    _checked(failed, of, level)
    if failed == 0:
        return 0.0
    if failed == of:
        return float((1 - level) ** (1 / of))
    return bisect(lambda p: at_least(failed, of, p) - (1 - level), 0.0, 1.0)


def none_of(of: int, unit: str, *, level: float = 0.95) -> str:
    """Words the bound for none: `0 of 3 jars: the true share may still be up to 63 %`.

    `unit` says what was counted, batches or jars, in the plural. The bound is one-sided; it is
    rounded to the nearest percent, and below 10 % up to the next tenth.
    """
    bound = at_most_share(0, of, level=level) * 100
    tenths = ceil(Fraction(bound) * 10)
    figure = f"{bound:.0f}" if bound >= 10 else f"{tenths // 10}.{tenths % 10}"
    counted = unit if of != 1 else {"batches": "batch", "jars": "jar"}.get(unit, unit)
    return f"0 of {of} {counted}: the true share may still be up to {figure} %"


def _checked(failed: int, of: int, level: float) -> None:
    if of < 1 or not 0 <= failed <= of:
        raise ValueError(f"{failed} of {of}: the count lies between 0 and a total of at least 1")
    if not 0 < level < 1:
        raise ValueError(f"a level of {level}: it lies between 0 and 1")
