"""Exact figures: fractions as decimal text, and rounding to what a balance can show.

No binary floating point anywhere: 0.1 + 0.2 of a percent is 0.3, and targets add up.
"""

from __future__ import annotations

from decimal import ROUND_HALF_EVEN, Context, Decimal
from fractions import Fraction

PLACES = 4
"""Decimals of a figure that never ends, such as a third: finer than any bench can weigh."""

_DIGITS = Context(prec=40, rounding=ROUND_HALF_EVEN)
"""The program's own setting, so that nobody's decimal context changes a result."""


def decimals_needed(value: Fraction) -> int | None:
    """How many decimals write a value exactly; None where its decimals never end."""
    rest = value.denominator
    twos = fives = 0
    while rest % 2 == 0:
        rest, twos = rest // 2, twos + 1
    while rest % 5 == 0:
        rest, fives = rest // 5, fives + 1
    return max(twos, fives) if rest == 1 else None


def to_places(value: Fraction, places: int) -> Decimal:
    """The value with so many decimals, a half going to the even digit."""
    count = round(value * 10**places)
    digits = tuple(int(digit) for digit in str(abs(count)))
    return Decimal((int(count < 0), digits, -places))


def to_decimal(value: Fraction) -> Decimal:
    """The value as a decimal: exact where its decimals end, else with four of them."""
    needed = decimals_needed(value)
    return to_places(value, PLACES if needed is None else needed)


def decimal_text(value: Fraction, typed: Decimal | None = None) -> str:
    """A value as plain decimal text.

    Args:
        value: what is so.
        typed: the digits that a person wrote for it: 0.50 stays 0.50. They are shown where they
            are the value, or, for a value whose decimals never end, its rounding.

    Returns:
        The digits typed, else the value exactly, else rounded to four decimals.
    """
    if typed is not None and says_the_same(value, typed):
        return f"{typed:f}"
    return f"{to_decimal(value):f}"


def says_the_same(value: Fraction, typed: Decimal) -> bool:
    """Whether typed digits are the value, or the rounding of one whose decimals never end."""
    if Fraction(typed) == value:
        return True
    return decimals_needed(value) is None and Fraction(typed) == rounded_like(value, typed)


def rounded_like(value: Fraction, typed: Decimal) -> Fraction:
    """The value rounded to as many decimals as were typed."""
    exponent = typed.as_tuple().exponent
    return Fraction(to_places(value, max(0, -exponent) if isinstance(exponent, int) else 0))


def steps(value: Fraction, step: Decimal) -> int:
    """How many steps of a balance are nearest to a value, a half going to the even count."""
    return round(value / Fraction(step))


def steps_up(value: Fraction, step: Decimal) -> int:
    """The least number of steps that reaches a value."""
    return -(-value // Fraction(step))


def of_steps(count: int, step: Decimal) -> Decimal:
    """So many steps as a mass, with the decimals of the step: 3 of 0.10 are 0.3."""
    exact = Fraction(step)
    return to_places(count * exact, decimals_needed(exact) or 0)


def square_root(value: Fraction) -> Decimal:
    """The square root of a value that is not below zero, to 40 digits."""
    return _DIGITS.sqrt(_DIGITS.divide(Decimal(value.numerator), Decimal(value.denominator)))
