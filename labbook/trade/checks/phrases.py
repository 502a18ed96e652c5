"""Beginnings of sentences that several checks share."""

from __future__ import annotations

from fractions import Fraction

from labbook.trade.checks.acidity import Acidity
from labbook.trade.checks.contents import number, span


def pH_text(pH: Acidity) -> str:
    """`At the pH of 4.8 to 5 that you aim for`, `At the measured pH of 4.85 to 4.95`."""
    told = span(pH.low, pH.high)
    return f"At the measured pH of {told}" if pH.measured else f"At the pH of {told} aimed for"


def one_pH(pH: Fraction, *, measured: bool) -> str:
    """The same for one figure: the unfavourable end."""
    told = number(pH) if pH.denominator != 1 else f"{number(pH)}.0"
    return f"At the measured pH of {told}" if measured else f"At the pH of {told} that you aim for"
