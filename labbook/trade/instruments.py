"""What a check of an instrument tells: how well a balance repeats, how steep a pH electrode is."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from decimal import Decimal
from fractions import Fraction

from labbook.trade.exact import square_root

WEIGHINGS = 10
"""How often one mass is weighed to tell how well a balance repeats: USP <41> asks for no fewer."""

_GAS = Fraction("8.314462618")
_FARADAY = Fraction("96485.33212")
_LN_10 = Fraction("2.302585092994046")
_ZERO_C = Fraction("273.15")
ROOM = Fraction(25)
LEAST_STEEP, MOST_STEEP = Fraction(95), Fraction(105)
"""The slope of an electrode in order, in % of Nernst's: common practice, no source."""

MOST_OFFSET = Fraction(30)
"""What an electrode in order shows in mV at pH 7, either way: common practice, no source."""


@dataclass(frozen=True, slots=True)
class Repeated:
    """Several readings of one thing, in their unit: how many, mean, standard deviation, spread.

    The deviation is that of a single reading, the spread the largest less the smallest.
    """

    count: int
    mean: Fraction
    deviation: Decimal
    spread: Decimal


def repeated(shown: Sequence[Decimal]) -> Repeated:
    """Mean and experimental standard deviation (JCGM 100:2008, 4.2.1 and 4.2.2).

    Raises:
        ValueError: fewer than two readings have no deviation.
    """
    if len(shown) < 2:
        raise ValueError("one reading tells nothing about how well it repeats")
    values = [Fraction(one) for one in shown]
    mean = sum(values, Fraction()) / len(values)
    squares = sum(((one - mean) ** 2 for one in values), Fraction())
    deviation = square_root(squares / (len(values) - 1))
    return Repeated(len(values), mean, deviation, max(shown) - min(shown))


@dataclass(frozen=True, slots=True)
class Slope:
    """How an electrode answers: mV for one pH, in % of Nernst's slope, and mV at pH 7."""

    each: Fraction
    percent: Fraction
    at_seven: Fraction

    @property
    def steep_enough(self) -> bool:
        """Whether slope and offset are those of an electrode in order."""
        within = LEAST_STEEP <= self.percent <= MOST_STEEP
        return within and abs(self.at_seven) <= MOST_OFFSET


def nernst(temperature: Fraction = ROOM) -> Fraction:
    """Nernst's slope in mV for one pH at a temperature in °C: ln 10 · R · T ÷ F, 59.16 at 25 °C.

    With the constants of the SI since 2019.
    """
    return 1000 * _LN_10 * _GAS * (temperature + _ZERO_C) / _FARADAY


def slope(points: Sequence[tuple[Fraction, Fraction]], temperature: Fraction = ROOM) -> Slope:
    """The straight line through buffers (pH) and what the electrode showed (mV), least squares.

    Args:
        points: pH and mV.
        temperature: of the buffers, in °C.

    Raises:
        ValueError: fewer than two different buffers.
    """
    if len({pH for pH, _ in points}) < 2:
        raise ValueError("a slope takes two different buffers at least")
    count = len(points)
    mid_pH = sum((pH for pH, _ in points), Fraction()) / count
    shown = sum((mV for _, mV in points), Fraction()) / count
    across = sum(((pH - mid_pH) ** 2 for pH, _ in points), Fraction())
    along = sum(((pH - mid_pH) * (mV - shown) for pH, mV in points), Fraction())
    each = along / across
    return Slope(
        each=each,
        percent=-100 * each / nernst(temperature),
        at_seven=shown + each * (7 - mid_pH),
    )
