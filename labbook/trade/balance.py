"""What a balance can tell: the uncertainty of what it shows, and how little it can weigh.

A displayed figure stands for any value within half a division, so one reading has the standard
uncertainty d ÷ √12, rounded 0.29 d (JCGM 100:2008, F.2.2.1). A measured repeatability or the
linearity counts in its place where it is larger.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from decimal import Decimal
from fractions import Fraction
from typing import Literal

from labbook.model.materials import Equipment
from labbook.model.quantities import Quantity
from labbook.trade.exact import square_root

Way = Literal["tare", "cumulative"]
"""How lines are weighed into one vessel: tared before each, or the display left to run up."""

USP_FACTOR = 2000  # USP <41>: twice the standard deviation within 0.10 % of the smallest weight
USP_FLOOR = Fraction("0.41")  # USP <41>: a standard deviation below 0.41 d counts as 0.41 d
SMALL_ERROR = Fraction(5, 100)
"""The error wanted of lines that a little decides: common practice, no source."""

DECIDING = frozenset(
    {"preservative", "restricted", "active", "adjuster", "emulsifier", "co-emulsifier",
     "electrolyte", "salt"}
)  # fmt: skip
"""The roles and functions that want `SMALL_ERROR`."""


def rectangular(half_width: Fraction) -> Decimal:
    """The standard uncertainty of a value that lies anywhere within ± a: a ÷ √3.

    Source: JCGM 100:2008, 4.3.7.
    """
    return square_root(half_width * half_width / 3)


def root_sum(uncertainties: Iterable[Decimal]) -> Decimal:
    """Independent standard uncertainties of a sum, taken together (JCGM 100:2008, 5.1.2)."""
    return square_root(sum((Fraction(u) ** 2 for u in uncertainties), Fraction()))


@dataclass(frozen=True, slots=True, kw_only=True)
class Balance:
    """A balance, all figures in g: readability d, measured repeatability, linearity (± limit)."""

    readability: Fraction
    repeatability: Fraction | None = None
    linearity: Fraction | None = None

    @property
    def reading(self) -> Decimal:
        """The standard uncertainty of one reading in g: the largest of what is known."""
        division = rectangular(self.readability / 2)
        linear = rectangular(self.linearity or Fraction())
        repeated = square_root((self.repeatability or Fraction()) ** 2)
        return max(division, linear, repeated)

    @property
    def half_division(self) -> Fraction:
        """How far a reading may be from the mass by the display alone, in g."""
        return self.readability / 2


def balance_of(equipment: Equipment) -> Balance | None:
    """The balance of an equipment file; None where it names no readability.

    Raises:
        QuantityError: a figure is given in something that is no mass.
    """
    if equipment.readability is None or not equipment.readability.value:
        return None
    return Balance(
        readability=equipment.readability.exact("g"),
        repeatability=_grams(equipment.repeatability),
        linearity=_grams(equipment.linearity),
    )


def _grams(quantity: Quantity | None) -> Fraction | None:
    return None if quantity is None else quantity.exact("g")


# Several lines -----------------------------------------------------------------------------------


def covariance(lines: int, balance: Balance, way: Way) -> tuple[tuple[Fraction, ...], ...]:
    """Variances and covariances of weighed lines in g².

    Every line is a difference of two readings. Tared, each has two of its own. Cumulative, the end
    of one is the start of the next: what is read too much for one is read too little for the other.
    """
    reading = Fraction(balance.reading) ** 2
    next_to = -reading if way == "cumulative" else Fraction()
    row = {0: 2 * reading, 1: next_to}
    return tuple(tuple(row.get(abs(i - j), Fraction()) for j in range(lines)) for i in range(lines))


def line_uncertainty(balance: Balance, weighings: int = 1) -> Decimal:
    """The standard uncertainty in g of a line weighed in so many goes, each tared."""
    return square_root(2 * weighings * Fraction(balance.reading) ** 2)


def total_uncertainty(lines: int, balance: Balance, way: Way) -> Decimal:
    """The standard uncertainty in g of the sum of all lines.

    Twelve lines on 0.1 g: 0.14 g tared, 0.04 g cumulative.
    """
    matrix = covariance(lines, balance, way)
    return square_root(sum((sum(row, Fraction()) for row in matrix), Fraction()))


def percent_uncertainties(
    masses: Sequence[Fraction], balance: Balance, way: Way
) -> tuple[Decimal, ...]:
    """The standard uncertainties of the percents of weighed lines, in percent by weight.

    By the law of propagation (JCGM 100:2008, 5.2.2) with p = m ÷ M, so that one gram too much of
    line j changes p of line i by (1 − p) ÷ M where i is j, and by −p ÷ M elsewhere.

    Raises:
        ValueError: the masses add up to nothing.
    """
    whole = sum(masses, Fraction())
    if whole <= 0:
        raise ValueError("the masses add up to nothing, so there are no percents")
    cov = covariance(len(masses), balance, way)
    found = []
    for i, mass in enumerate(masses):
        slope = [((1 if i == j else 0) - mass / whole) / whole for j in range(len(masses))]
        rows = (
            s * sum(map(Fraction.__mul__, slope, row)) for s, row in zip(slope, cov, strict=True)
        )
        found.append(square_root(100 * 100 * sum(rows, Fraction())))
    return tuple(found)


# How little is too little ------------------------------------------------------------------------


def relative_error(mass: Fraction, error: Fraction) -> Fraction | None:
    """An error as a share of a mass (0.05 is 5 %); None for no mass."""
    return error / mass if mass > 0 else None


def mass_for(error: Fraction, wanted: Fraction) -> Fraction:
    """The mass from which an error is within the wanted share of it, in the error's unit."""
    return error / wanted


def minimum_weight(balance: Balance) -> Fraction:
    """The smallest net weight for accurate weighing in g, by USP <41> Balances.

    2000 × the standard deviation, which counts as 0.41 d where it is smaller or not measured.
    """
    return USP_FACTOR * max(balance.repeatability or Fraction(), USP_FLOOR * balance.readability)


def wanted_error(kinds: Iterable[str], *, qs: bool = False) -> Fraction | None:
    """The error wanted of a line by its roles and functions, as a share; None for no wish.

    What preserves, is restricted, acts, adjusts, emulsifies or is a salt wants 5 %; main oils and
    what fills up want nothing.
    """
    return SMALL_ERROR if not qs and DECIDING & set(kinds) else None


def least_mass(balance: Balance, wanted: Fraction | None, *, strict: bool = False) -> Fraction:
    """The mass in g from which the balance does for a line; 0 without a wanted error.

    The bench rule: half a division within the wanted error. With `strict`, the minimum weight of
    USP <41> where that is more.
    """
    if wanted is None:
        return Fraction()
    bench = mass_for(balance.half_division, wanted)
    return max(bench, minimum_weight(balance)) if strict else bench
