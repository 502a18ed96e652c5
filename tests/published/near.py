"""Comparing with a printed figure, so that the tolerance itself is tested."""

from __future__ import annotations

from collections.abc import Callable
from fractions import Fraction


def close(value: Fraction | float, expected: str, within: str) -> bool:
    """Whether a value is a printed one, within a tolerance in the same unit."""
    return abs(Fraction(value) - Fraction(expected)) <= Fraction(within)


def near(value: Fraction | float | None, expected: str, within: str) -> None:
    """Asserts that a value is the printed one, and that one that is further off is refused.

    The printed figure moved by twice the tolerance to either side must not pass, and the
    tolerance may be at most 2 % of the figure: a wider one would let slips through.
    """
    assert value is not None
    tolerance, printed = Fraction(within), Fraction(expected)
    assert close(value, expected, within), f"{float(value)} is not {expected} ± {within}"
    assert 0 < tolerance <= abs(printed) / 50, "the tolerance is too wide"
    assert not close(printed + 2 * tolerance, expected, within)
    assert not close(printed - 2 * tolerance, expected, within)


def refused(slip: Callable[[], Fraction | float | None], expected: str, within: str) -> None:
    """Asserts that a reckoning with a known slip in it doesn't pass for the printed figure."""
    value = slip()
    assert value is not None
    assert not close(value, expected, within), "the tolerance doesn't notice the slip"
