"""What ingredients cost, from the prices and sizes of lots, in exact figures.

A price without a size, or a size without a price, gives no price per gram; such a line is listed
and the total is "at least". Currencies are never converted.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from decimal import Decimal
from fractions import Fraction

from labbook.model.materials import Lot
from labbook.model.moments import in_order
from labbook.model.quantities import LONGEST_NUMBER
from labbook.model.results.cost import CostLine, JarCost, Price
from labbook.model.sheets import Sheets
from labbook.trade.sheet_amounts import readings

_SIGNS = {"€": "EUR", "£": "GBP", "¥": "¥", "$": "$"}
_PRICE = re.compile(r"(?P<before>[^\d.,+-]*)\s*(?P<figure>[\d.,'’ ]*\d)\s*(?P<after>[^\d]*)")
_WORD = re.compile(r"[A-Za-z]{2,4}|[€£¥$]|[A-Z]{2}\$")


@dataclass(frozen=True, slots=True)
class Portion:
    """So many grams of an ingredient, from a lot where it was written down.

    `mass` is None where it isn't known.
    """

    ingredient: str
    mass: Fraction | None
    lot: str = ""


def price_of(text: str) -> Price | None:
    """`12.50 EUR`, `€ 12,50`, `8 USD`; None where it can't be read in one way only."""
    match = _PRICE.fullmatch(" ".join(text.split()))
    if match is None:
        return None
    words = [w for w in (match["before"].strip(), match["after"].strip()) if w]
    found = readings(match["figure"].strip())
    if len(words) != 1 or not _WORD.fullmatch(words[0]) or len(match["figure"]) > LONGEST_NUMBER:
        return None
    if len(found) != 1:
        return None
    return Price(found[0][0], _SIGNS.get(words[0], words[0].upper()))


def per_gram(lot: Lot) -> tuple[Fraction | None, str, str]:
    """A lot's price of 1 g with its currency, or None and what is missing."""
    if lot.price is None:
        return None, "", "no price written"
    if lot.size is None:
        return None, "", "no size written"
    price = price_of(lot.price)
    if price is None:
        return None, "", f"its price {lot.price!r} can't be read; write it like 12.50 EUR"
    grams = lot.size.exact("g")
    if not grams:
        return None, "", "its size is 0"
    return Fraction(price.amount) / grams, price.currency, ""


def newest(lots: Mapping[str, Lot], ingredient: str, sheets: Sheets) -> tuple[str, ...]:
    """The lots of an ingredient, the one in use first: opened and not used up, then the newest."""
    wanted = sheets.id_of(ingredient)
    own = [(name, lot) for name, lot in lots.items() if sheets.id_of(lot.ingredient) == wanted]
    return tuple(name for name, _ in sorted(own, key=_rank))


def _rank(named: tuple[str, Lot]) -> tuple[bool, bool, float, str]:
    name, lot = named
    began = lot.opened or lot.bought
    order = -in_order(began).timestamp() if began else 0.0
    return lot.used_up is not None, lot.opened is None, order, name


def cost_lines(
    portions: Iterable[Portion], lots: Mapping[str, Lot], sheets: Sheets
) -> tuple[CostLine, ...]:
    """The cost of each portion."""
    return tuple(_line(portion, lots, sheets) for portion in portions)


def _line(portion: Portion, lots: Mapping[str, Lot], sheets: Sheets) -> CostLine:
    assumed = not portion.lot
    names = newest(lots, portion.ingredient, sheets) if assumed else (portion.lot,)
    why = "no lot in the notebook"
    for name in names:
        lot = lots.get(name)
        if lot is None:
            why = f"its lot {name} is not in the notebook"
            continue
        each, currency, missing = per_gram(lot)
        if each is None:
            why = f"lot {name}: {missing}"
            continue
        if portion.mass is None:
            return CostLine(
                ingredient=portion.ingredient, mass=None, lot=name, per_gram=each,
                currency=currency, why="its amount isn't known", assumed=assumed,
            )  # fmt: skip
        return CostLine(
            ingredient=portion.ingredient,
            mass=portion.mass,
            lot=name,
            per_gram=each,
            currency=currency,
            cost=portion.mass * each,
            assumed=assumed,
        )
    return CostLine(ingredient=portion.ingredient, mass=portion.mass, why=why, assumed=assumed)


def totals(lines: Iterable[CostLine]) -> tuple[tuple[str, Fraction], ...]:
    """The sum of each currency, by its name."""
    found: dict[str, Fraction] = {}
    for line in lines:
        if line.cost is not None:
            found[line.currency] = found.get(line.currency, Fraction()) + line.cost
    return tuple(sorted(found.items()))


def shared(
    sums: Sequence[tuple[str, Fraction]], jars: Sequence[tuple[str, Fraction | None]]
) -> tuple[JarCost, ...]:
    """A batch's costs over its jars: by their mass, evenly where one of them has none.

    What stayed in the pot is paid by the jars.
    """
    masses = [mass for _, mass in jars if mass]
    even = len(masses) < len(jars)
    whole = Fraction(len(jars)) if even else sum(masses, Fraction())
    return tuple(
        JarCost(
            jar=name, currency=currency, cost=total * (1 if even else mass or 0) / whole, even=even
        )
        for currency, total in sums
        for name, mass in jars
    )


def money(amount: Fraction) -> str:
    """An amount of money with two decimals, a half to the even cent; less than a cent is said."""
    cents = round(amount * 100)
    if amount and not cents:
        return "under 0.01"
    return f"{Decimal(cents).scaleb(-2):f}"
