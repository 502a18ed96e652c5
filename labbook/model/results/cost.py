"""What a formula or a batch costs in ingredients. Prices are private: none of it is published."""

from __future__ import annotations

from dataclasses import dataclass
from decimal import Decimal
from fractions import Fraction


@dataclass(frozen=True, slots=True, kw_only=True)
class CostLine:
    """The cost of one ingredient; `cost` is None where `why` says what is missing.

    `mass` in g; `per_gram` the price of 1 g from `lot`; `assumed` tells that the lot was not the
    one written beside a weighing.
    """

    ingredient: str
    mass: Fraction | None
    lot: str = ""
    per_gram: Fraction | None = None
    currency: str = ""
    cost: Fraction | None = None
    why: str = ""
    assumed: bool = False


@dataclass(frozen=True, slots=True, kw_only=True)
class JarCost:
    """What a jar's content costs, in one currency; `even` where jars were not weighed."""

    jar: str
    currency: str
    cost: Fraction
    even: bool = False


@dataclass(frozen=True, slots=True, kw_only=True)
class Cost:
    """The costs of all lines, each currency for itself.

    `at_least` tells that some line has no price, so that each total is only what is known.
    """

    name: str
    title: str
    size: Fraction
    batch: str
    lines: tuple[CostLine, ...]
    totals: tuple[tuple[str, Fraction], ...]
    at_least: bool
    jars: tuple[JarCost, ...] = ()
    notes: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class Price:
    """An amount of money as a lot's file says it."""

    amount: Decimal
    currency: str
