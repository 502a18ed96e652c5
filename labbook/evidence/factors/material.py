"""When a difference matters: beyond its uncertainty, and beyond a step that the trade goes by."""

from __future__ import annotations

from dataclasses import dataclass
from fractions import Fraction

from labbook.evidence.factors.traits import Trait, indistinct

OWN_SHARE = Fraction(5, 100)
LEAST_POINTS = Fraction(1, 10)
RATIO = Fraction(3, 2)

_DIFFERENCES = {
    "temperature": Fraction(5), "gap": Fraction(5), "fill temperature": Fraction(5),
    "stir until": Fraction(5), "room": Fraction(5), "evaporation": Fraction(5),
    # Common practice, no source: two batches of one formula are often 0.1 apart.
    "pH": Fraction(1, 5),
    # Common practice, no source: a room changes by that much within a day.
    "humidity": Fraction(10), "fill level": Fraction(10),
    "shear": Fraction(),
}  # fmt: skip


@dataclass(frozen=True, slots=True)
class MattersFrom:
    """A difference, or a ratio, from which two figures count as different.

    `inclusive`: already at it, as a rule says it; otherwise beyond it.
    """

    amount: Fraction
    ratio: bool = False
    inclusive: bool = False

    def apart(self, a: Fraction, b: Fraction) -> bool:
        """Whether two figures are that far apart."""
        if self.ratio:
            low, high = sorted((abs(a), abs(b)))
            if low == 0 or a * b < 0:
                return high > 0
            return high / low >= self.amount if self.inclusive else high / low > self.amount
        far = abs(a - b)
        return far > 0 and (far >= self.amount if self.inclusive else far > self.amount)


def usual_step(kind: str, base: str, a: Fraction, b: Fraction) -> MattersFrom:
    """The step for a kind of figure where no rule gives one.

    Of an amount 5 % of the line's own (the larger of the two) or 0.1 point, whichever is more;
    5 °C; a factor of 1.5 in times, speeds, rates and sizes; another class of shear.
    """
    if kind == "amount":
        return MattersFrom(max(OWN_SHARE * max(abs(a), abs(b)), LEAST_POINTS))
    key = "humidity" if kind == "room" and base == "%" else kind
    if key in _DIFFERENCES:
        return MattersFrom(_DIFFERENCES[key])
    return MattersFrom(RATIO, ratio=True)


_SHARES = frozenset({"%", "% of the batch"})
_BASES: dict[str, frozenset[str]] = {
    "°C": frozenset({"°C"}), "points": _SHARES, "%": _SHARES, "min": frozenset({"s"}),
    "h": frozenset({"s"}), "s": frozenset({"s"}), "pH": frozenset({"pH"}),
    "classes": frozenset({"classes"}), "rpm": frozenset({"rpm"}), "g": frozenset({"g"}),
}  # fmt: skip


def fits(unit: str, base: str) -> bool:
    """Whether a rule in that unit can speak of figures in that base unit.

    One without a unit, in shares or in times can speak of any; names have no unit to fit.
    """
    return not base or unit not in _BASES or base in _BASES[unit]


def ruled_step(amount: Fraction, unit: str, a: Fraction, b: Fraction) -> MattersFrom | None:
    """The step that a rule gives in its own unit; None for a unit that is unknown here."""
    if unit == "share":
        return MattersFrom(amount * max(abs(a), abs(b)), inclusive=True)
    if unit == "times":
        return MattersFrom(max(amount, Fraction(1)), ratio=True, inclusive=True)
    scale = Fraction(60) if unit == "min" else Fraction(3600) if unit == "h" else Fraction(1)
    return MattersFrom(amount * scale, inclusive=True)


def comparable(a: Trait, b: Trait) -> bool:
    """Whether two traits are figures of the same thing."""
    return a.value is not None and b.value is not None and a.base == b.base


def same(a: Trait, b: Trait, step: MattersFrom) -> bool:
    """Whether two traits count as equal: figures within uncertainty or step, names that agree."""
    if not comparable(a, b):
        return a.name == b.name
    assert a.value is not None and b.value is not None
    if indistinct(a, b):
        return True
    return not step.apart(a.value, b.value)
