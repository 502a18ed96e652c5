"""What is added on top of a finished base: per base, and per finished batch.

2 g into 100 g are 2 % of the base and 1.96 % of what comes out; a sheet whose parts add up to 120
has no percents until they are divided by 120.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from fractions import Fraction

WHOLE = Fraction(100)


@dataclass(frozen=True, slots=True)
class OnTop:
    """An addition to a base, both in grams."""

    base: Fraction
    addition: Fraction

    @property
    def finished(self) -> Fraction:
        """The finished batch in grams."""
        return self.base + self.addition

    @property
    def per_base(self) -> Fraction:
        """The addition in percent of the base: what a sheet that says "on top" gives."""
        return self.addition / self.base * WHOLE

    @property
    def per_finished(self) -> Fraction:
        """The addition in percent of the finished batch: what a formula and a limit mean."""
        return self.addition / self.finished * WHOLE


def of_base(base: Fraction, percent: Fraction) -> OnTop:
    """So many percent of the base, put on top of it.

    Raises:
        ValueError: no base, or a percent below zero.
    """
    if base <= 0 or percent < 0:
        raise ValueError("on top of nothing, or less than nothing on top, can't be reckoned")
    return OnTop(base, base * percent / WHOLE)


def of_finished(base: Fraction, percent: Fraction) -> OnTop:
    """What has to be added so that it is so many percent of the finished batch.

    10 kg of base take 204.08 g for 2 % of what comes out.

    Raises:
        ValueError: no base, a percent below zero, or 100 % and more.
    """
    if base <= 0 or not 0 <= percent < WHOLE:
        raise ValueError("an addition is from 0 to below 100 % of the finished batch")
    return OnTop(base, base * percent / (WHOLE - percent))


def per_finished(per_base: Fraction) -> Fraction:
    """Percent of the base as percent of the finished batch."""
    return of_base(WHOLE, per_base).per_finished


def per_base(per_finished: Fraction) -> Fraction:
    """Percent of the finished batch as percent of the base."""
    return of_finished(WHOLE, per_finished).per_base


def parts_as_percent(parts: Mapping[str, Fraction]) -> dict[str, Fraction]:
    """Parts of any sum as percents that add up to 100.

    Raises:
        ValueError: a part below zero, or nothing at all.
    """
    total = sum(parts.values(), Fraction())
    if total <= 0 or min(parts.values()) < 0:
        raise ValueError("parts have to add up to more than nothing, none of them below zero")
    return {name: part / total * WHOLE for name, part in parts.items()}
