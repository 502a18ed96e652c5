"""Oil-in-water: salt against thickeners, fats against emulsifier, and what goes in cold.

None of this is said of water-in-oil: there salt helps more often than not, and a quarter of the
oils as emulsifier is no measure.
"""

from __future__ import annotations

from collections.abc import Iterator
from fractions import Fraction

from labbook.trade.advice import Advice
from labbook.trade.checks.case import Case, Check, Unseen
from labbook.trade.checks.contents import (
    Part,
    all_known,
    emulsifying,
    names_of,
    number,
    of_kind,
    oils,
    parts,
    selected,
    total,
)
from labbook.trade.checks.method import added_later


def _salts(case: Case) -> tuple[Part, ...]:
    found = of_kind(parts(case), "electrolyte")
    return tuple(part for part in found if part.dissolves_in in ("water", ""))


def _thins(part: Part) -> bool:
    """Whether it counts as a salt that thins: its ions are on the sheet, or it is an electrolyte.

    What only preserves, binds metals or sets the pH is left out: it comes in small doses.
    """
    if part.sheet is None or {"preservative", "chelator", "acid", "base", "water"} & part.kinds:
        return False
    return part.dissolves_in == "water" and (bool(part.sheet.ions) or "electrolyte" in part.kinds)


def salt_against_thickener(case: Case) -> Iterator[Advice | Unseen]:
    """A thickener that salts thin, and salts beside it."""
    rule = "salt-against-thickener"
    thickeners = selected(case, case.rule(rule).of, parts(case))
    thinning = [part for part in parts(case) if _thins(part) and part not in thickeners]
    amount = total(thinning)
    if not thickeners or not thinning or amount is None:
        return
    if amount < Fraction(case.figure(rule, "from in % of the formula")):
        return
    what = (
        f"{names_of(thickeners)} is to thicken the water, and {number(amount)} % "
        f"{names_of(thinning)} stands in it."
    )
    yield case.advice(rule, what, line=thickeners[0].line)


def much_salt(case: Case) -> Iterator[Advice | Unseen]:
    """More salt than an ordinary oil-in-water cream carries."""
    rule = "much-salt-in-oil-in-water"
    salts = _salts(case)
    amount = total(salts)
    if salts and amount is not None and amount > Fraction(case.figure(rule, "over in %")):
        what = f"{number(amount)} % {names_of(salts)} is much salt for an oil-in-water cream."
        yield case.advice(rule, what, line=salts[0].line)


def stiffness_of_the_oils(case: Case) -> Iterator[Advice | Unseen]:
    """Mostly wax, or nothing that gives body at all."""
    fats = oils(case)
    waxes = [part for part in of_kind(fats, "wax") if "oil" not in part.kinds]
    whole, amount = total(fats), total(waxes)
    if whole and amount and all_known(case):
        rule, share = "much-wax-in-the-oils", amount / whole * 100
        if share > Fraction(case.figure(rule, "over in % of the oils")):
            what = f"{number(share)} % of the oils is wax ({names_of(waxes)})."
            yield case.advice(rule, what, line=waxes[0].line)
    yield from _nothing_thickens(case, fats)


def _nothing_thickens(case: Case, fats: tuple[Part, ...]) -> Iterator[Advice]:
    found = parts(case)
    stiff = [part for part in found if part.solid and part.dissolves_in == "oil"]
    gums = of_kind(found, "gellant", "thickener", "wax", "butter")
    if fats and emulsifying(case) and all_known(case) and not stiff and not gums:
        what = "All oils are liquid and nothing thickens the water: it stays as thin as milk."
        yield case.advice("nothing-thickens", what, key="phases")


def emulsifier_for_the_oils(case: Case) -> Iterator[Advice | Unseen]:
    """Little or much emulsifier, with the denominator: the oils without it, and with it."""
    own = of_kind(parts(case), "emulsifier", "co-emulsifier")
    helping = tuple(part for part in own if part.dissolves_in in ("oil", "water", "both"))
    fats = oils(case)
    amount, whole = total(helping), total(fats)
    if not of_kind(helping, "emulsifier") or not amount or not whole or not all_known(case):
        return
    ratio = amount / whole * 100
    what = (
        f"{number(amount)} % {names_of(helping)} to {number(whole)} % oils is {number(ratio)} g to "
        f"100 g of oils without the emulsifier, or {number(amount / (amount + whole) * 100)} % of "
        "oils and emulsifier together."
    )
    few, many = "little-emulsifier-for-the-oils", "much-emulsifier-for-the-oils"
    if ratio < Fraction(case.figure(few, "least in g to 100 g oils")):
        yield case.advice(few, what, line=helping[0].line)
    top = Fraction(case.figure(many, "over in g to 100 g oils"))
    if ratio > top and amount > Fraction(case.figure(many, "over in % of the formula")):
        yield case.advice(many, what, line=helping[0].line)


def much_added_cold(case: Case) -> Iterator[Advice | Unseen]:
    """A large share goes in after combining and cooling."""
    rule = "much-added-cold"
    cold = Fraction(case.figure(rule, "cold up to °C"))
    for added in added_later(case):
        percents = [line.percent for line in added.lines]
        if added.degrees is None or added.degrees > cold or None in percents:
            continue
        share = sum((one for one in percents if one is not None), Fraction())
        if share > Fraction(case.figure(rule, "over in %")):
            what = (
                f"{number(share)} % of the formula goes in at {number(added.degrees)} °C, after "
                "the cream is made."
            )
            yield case.advice(rule, what, step=added.step)


def much_oil(case: Case) -> Iterator[Advice | Unseen]:
    """More oil than water wants to hold; said while nobody has looked which type it became."""
    rule = "much-oil-for-oil-in-water"
    fats = oils(case)
    whole = total(fats)
    if case.observed or not fats or whole is None:
        return
    if whole > Fraction(case.figure(rule, "over in %")):
        what = f"{number(whole)} % of the formula is oil, and it is meant to be oil-in-water."
        yield case.advice(rule, what, key="emulsion")


CHECKS: tuple[Check, ...] = (
    salt_against_thickener,
    much_salt,
    stiffness_of_the_oils,
    emulsifier_for_the_oils,
    much_added_cold,
    much_oil,
)
