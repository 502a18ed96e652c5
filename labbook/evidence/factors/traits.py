"""Traits: the recorded things of one batch, each under a key that means the same in every batch.

Two batches are compared trait by trait, and any other batch is put on a side by its own trait.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from decimal import Decimal
from fractions import Fraction
from functools import cache
from typing import Any

from labbook.evidence.factors.types import Key
from labbook.evidence.items import spread
from labbook.evidence.made import COVERAGE
from labbook.model.quantities import BASE_UNITS, Quantity
from labbook.model.sheets import fold


@dataclass(frozen=True, slots=True, kw_only=True)
class Trait:
    """One thing about a batch.

    `text` and `unit` are as shown. `value` is the figure in the base unit `base` (%, °C, s, g, rpm,
    pH, classes), None for a name; `variance` and `spread` are its uncertainty, the first of a
    random, the second of a rounding kind. `name` is what equal names have in common. `recorded` is
    False for what was only planned, `meant` the plan of what was weighed. `rank` orders names that
    can be ordered roughly. `line` is what to say if it is known after all, in quotation marks and
    `...` for the value, without the step.
    """

    kind: str
    what: str
    text: str
    unit: str = ""
    value: Fraction | None = None
    base: str = ""
    variance: Fraction = Fraction()
    spread: Fraction = Fraction()
    name: str = ""
    recorded: bool = True
    rank: int | None = None
    sheets: tuple[str, ...] = ()
    acts: frozenset[str] = field(default_factory=frozenset)
    step: str = ""
    line: str = ""
    meant: Fraction | None = None

    @property
    def whole(self) -> str:
        """The value with its unit."""
        joined = "" if self.unit == "%" and self.kind not in ("amount",) else " "
        return f"{self.text}{joined}{self.unit}".strip() if self.unit else self.text


Traits = dict[Key, Trait]


def indistinct(a: Trait, b: Trait) -> bool:
    """Whether two figures differ by no more than their uncertainty.

    That is what rounding allows, and twice the standard uncertainty of what is random.
    """
    assert a.value is not None and b.value is not None
    off = abs(a.value - b.value) - a.spread - b.spread
    if off <= 0:
        return True
    variance = a.variance + b.variance
    return bool(variance) and off * off <= COVERAGE * COVERAGE * variance


@cache
def folded(text: str) -> str:
    """A name in the form in which names are compared."""
    return fold(text)


@cache
def _figures(text: str, unit: str) -> tuple[Fraction, str, Fraction, str]:
    """The value in the base unit, that unit, half of the last digit in it, and the name of both.

    By the text, because the digits typed are part of it.
    """
    quantity = Quantity(Decimal(text), unit)
    base = BASE_UNITS.get(quantity.dimension, unit)
    return quantity.exact(base), base, spread(quantity, base), fold(str(quantity))


def of_quantity(
    quantity: Quantity, kind: str, what: str, *, coarse: Fraction = Fraction(), **more: Any
) -> Trait:
    """A trait of a figure with its unit; `coarse` is what the instrument tells apart."""
    text = f"{quantity.value:f}"
    value, base, half, name = _figures(text, quantity.unit)
    given: dict[str, Any] = {
        "kind": kind, "what": what, "text": text, "unit": quantity.unit,
        "value": value, "base": base, "name": name, "spread": max(half, coarse),
    }  # fmt: skip
    return Trait(**{**given, **more})


def of_name(text: str, kind: str, what: str, **more: Any) -> Trait:
    """A trait that is a name or a word."""
    given: dict[str, Any] = {"kind": kind, "what": what, "text": text, "name": folded(text)}
    return Trait(**{**given, **more})
