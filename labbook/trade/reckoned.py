"""A figure with where its uncertainty comes from: the law of propagation, kept source by source.

Each reading of an instrument is a source of its own with a variance. A figure knows by how much it
changes with each source (to first order), so two figures that rest on one reading are known to go
together (JCGM 100:2008, 5.1.2 and 5.2.2; the sources are independent of each other).
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field
from fractions import Fraction

Source = tuple[str, ...]
"""What one reading is called: the batch, the entry, and what of it."""


@dataclass(frozen=True, slots=True)
class Reckoned:
    """A figure, exact, and how it changes with each source."""

    value: Fraction
    slopes: Mapping[Source, Fraction] = field(default_factory=dict)

    def __add__(self, other: Reckoned) -> Reckoned:
        return self._with(other, self.value + other.value, Fraction(1), Fraction(1))

    def __sub__(self, other: Reckoned) -> Reckoned:
        return self._with(other, self.value - other.value, Fraction(1), Fraction(-1))

    def __mul__(self, other: Reckoned) -> Reckoned:
        return self._with(other, self.value * other.value, other.value, self.value)

    def __truediv__(self, other: Reckoned) -> Reckoned:
        value = self.value / other.value
        return self._with(other, value, 1 / other.value, -value / other.value)

    def times(self, factor: Fraction) -> Reckoned:
        """The figure times one that is known exactly."""
        return Reckoned(self.value * factor, {s: x * factor for s, x in self.slopes.items()})

    def leaning_on(self, source: Source, slope: Fraction) -> Reckoned:
        """The same figure with one more source."""
        held = self.slopes.get(source, Fraction())
        return Reckoned(self.value, {**self.slopes, source: held + slope})

    def _with(self, other: Reckoned, value: Fraction, mine: Fraction, others: Fraction) -> Reckoned:
        slopes = {source: slope * mine for source, slope in self.slopes.items()}
        for source, slope in other.slopes.items():
            slopes[source] = slopes.get(source, Fraction()) + slope * others
        return Reckoned(value, slopes)


NOTHING = Reckoned(Fraction())


def total(figures: Iterable[Reckoned]) -> Reckoned:
    """The sum of figures; nought for none."""
    value = Fraction()
    slopes: dict[Source, Fraction] = {}
    for one in figures:
        value += one.value
        for source, slope in one.slopes.items():
            slopes[source] = slopes.get(source, Fraction()) + slope
    return Reckoned(value, slopes)


class Ledger:
    """The variances of all sources that a calculation met."""

    def __init__(self) -> None:
        self.variances: dict[Source, Fraction] = {}

    def reading(self, value: Fraction, variance: Fraction, *source: str) -> Reckoned:
        """A figure that was read, with its own variance, in the square of its unit."""
        self.variances[source] = variance
        return Reckoned(value, {source: Fraction(1)} if variance else {})

    def variance(self, figure: Reckoned) -> Fraction:
        """The variance of a figure."""
        parts = (slope * slope * self.variances[s] for s, slope in figure.slopes.items())
        return sum(parts, Fraction())
