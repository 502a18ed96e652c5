"""The few distributions that bounds and tests need, from one function of the standard library.

The regularised incomplete beta function carries the binomial, Student's t and F. A numerical
library would give the same figures, and cost a third of a second at the first bound.
"""

from __future__ import annotations

from collections.abc import Callable
from math import erfc, exp, lgamma, log, log1p, sqrt

__all__ = [
    "at_least",
    "bisect",
    "chi_square_quantile",
    "f_tail",
    "normal_tails",
    "student_quantile",
]

_TINY = 1e-300
_STEPS = 10_000


def beta_share(a: float, b: float, x: float) -> float:
    """The regularised incomplete beta function I_x(a, b), by its continued fraction.

    Raises ValueError where a or b is not above 0 or x lies outside 0 to 1. Source of the fraction:
    DLMF 8.17.22, evaluated by the modified Lentz method.
    """
    if not (a > 0 and b > 0 and 0 <= x <= 1):
        raise ValueError(f"I_x(a, b) has no value at a = {a}, b = {b}, x = {x}")
    if x in (0, 1):
        return float(x)
    if x > (a + 1) / (a + b + 2):
        return 1 - beta_share(b, a, 1 - x)
    front = exp(lgamma(a + b) - lgamma(a) - lgamma(b) + a * log(x) + b * log1p(-x)) / a
    return front / _fraction(a, b, x)


def _fraction(a: float, b: float, x: float) -> float:
    """The continued fraction 1 + d1/(1 + d2/(1 + ...)), whose inverse I_x is made of."""
    value, top, below = 1.0, 1.0, 0.0
    for step in range(1, _STEPS):
        half, odd = divmod(step, 2)
        if odd:
            d = -(a + half) * (a + b + half) * x / ((a + 2 * half) * (a + 2 * half + 1))
        else:
            d = half * (b - half) * x / ((a + step - 1) * (a + step))
        below = 1 / ((1 + d * below) or _TINY)
        top = (1 + d / top) or _TINY
        value *= top * below
        if abs(top * below - 1) < 1e-15:
            return value
    raise ArithmeticError(f"I_x(a, b) did not settle at a = {a}, b = {b}, x = {x}")


def at_least(k: int, n: int, p: float) -> float:
    """The chance of k or more out of n, each with chance p."""
    if k <= 0:
        return 1.0
    return 0.0 if k > n else beta_share(k, n - k + 1, p)


def student_tail(t: float, df: float) -> float:
    """The chance that Student's t with df degrees of freedom is t or more."""
    half = beta_share(df / 2, 0.5, df / (df + t * t)) / 2
    return half if t >= 0 else 1 - half


def student_quantile(share: float, df: float) -> float:
    """The value that Student's t stays below with that chance; df above 0."""
    if not 0 < share < 1:
        raise ValueError(f"a share of {share} has no quantile; it lies between 0 and 1")
    if share < 0.5:
        return -student_quantile(1 - share, df)
    high = 1.0
    while student_tail(high, df) > 1 - share:
        high *= 2
    return bisect(lambda t: 1 - share - student_tail(t, df), 0.0, high)


def f_tail(f: float, df1: float, df2: float) -> float:
    """The chance that F with df1 and df2 degrees of freedom is f or more: the p of an F test."""
    return beta_share(df2 / 2, df1 / 2, df2 / (df2 + df1 * f)) if f > 0 else 1.0


def normal_tails(z: float) -> float:
    """The chance that a standard normal value is at least as far from 0 as z."""
    return erfc(abs(z) / sqrt(2))


def chi_square_quantile(share: float) -> float:
    """The value that chi-square with one degree of freedom stays below with that chance."""
    return bisect(lambda z: normal_tails(0.0) - share - normal_tails(z), 0.0, 40.0) ** 2


def bisect(rising: Callable[[float], float], low: float, high: float, within: float = 0.0) -> float:
    """Where a function that is at most 0 at `low` and at least 0 at `high` passes 0.

    Halves until the two ends are that close, or neighbours among the floats.
    """
    while True:
        middle = (low + high) / 2
        if high - low <= within or not low < middle < high:
            return middle
        if rising(middle) < 0:
            low = middle
        else:
            high = middle
