"""The screen of `formula cost HC`. It is never published."""

from __future__ import annotations

from collections.abc import Sequence
from fractions import Fraction

from labbook.model.results.common import Next
from labbook.model.results.cost import Cost, CostLine, JarCost
from labbook.show.layout import Column, Screen
from labbook.show.parts import then
from labbook.trade.cost import money
from labbook.trade.exact import decimals_needed, to_places


def cost_screen(result: Cost, screen: Screen) -> str:
    """Each line with its pack, the totals, the jars, and what has no price."""
    made = f", {result.batch} as weighed" if result.batch else ""
    screen.title(f"{result.name}  {result.title}{made}", f"{_grams(result.size)} g")
    screen.blank()
    known = [line for line in result.lines if line.cost is not None]
    columns = (
        Column("ingredient"), Column("", "point"), Column("", "unit"), Column("", "point"),
        Column("", "unit"),
    )  # fmt: skip
    screen.table(columns, [("", _cells(line)) for line in known])
    for number, line in enumerate(one for one in result.lines if one.cost is None):
        screen.row("unknown" if not number else "", f"{line.ingredient}: {line.why}")
    if known or not result.lines:
        screen.blank()
    _totals(result, screen)
    _jars(result.jars, screen)
    if known:
        screen.row("packs", ", ".join(dict.fromkeys(line.lot for line in known)))
    if any(line.assumed for line in known):
        what = "Where no pack was written down" if result.batch else "Of each"
        screen.row("", f"{what}: the newest in use that has a price and a size.")
    for number, note in enumerate(result.notes):
        screen.row("note" if not number else "", note)
    screen.row("private", "Prices stay in the notebook: the journal never shows them.")
    unpriced = [line.ingredient for line in result.lines if line.cost is None]
    if unpriced:
        then(screen, [Next("labbook ingredient lot list", "packs, with prices and sizes")])
    return screen.text()


def _cells(line: CostLine) -> list[str]:
    mass = "" if line.mass is None else _grams(line.mass)
    return [line.ingredient, mass, "g", money(line.cost or Fraction()), line.currency]


def _totals(result: Cost, screen: Screen) -> None:
    if not result.totals:
        screen.row("together", "unknown: no line has a price")
        return
    words = "at least " if result.at_least else ""
    sums = " and ".join(f"{money(amount)} {currency}" for currency, amount in result.totals)
    screen.row("together", f"{words}{sums}")
    if result.size and result.size != 100:
        each = " and ".join(
            f"{money(amount * 100 / result.size)} {currency}" for currency, amount in result.totals
        )
        screen.row("per 100 g", f"{words}{each}")


def _jars(jars: Sequence[JarCost], screen: Screen) -> None:
    by_jar: dict[str, list[str]] = {}
    for one in jars:
        by_jar.setdefault(one.jar, []).append(f"{money(one.cost)} {one.currency}")
    for number, (jar, costs) in enumerate(by_jar.items()):
        screen.row("per jar" if not number else "", f"{jar}  {' and '.join(costs)}")
    if jars:
        how = "evenly, since not every jar was weighed" if jars[0].even else "by what they hold"
        screen.row("", f"Shared {how}; what stayed in the pot is in it. Packaging is not.")


def _grams(mass: Fraction) -> str:
    needed = decimals_needed(mass)
    return f"{to_places(mass, 2 if needed is None else min(needed, 4)):f}"
