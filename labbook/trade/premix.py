"""A premix for what a balance can't weigh: more of it in a carrier, and a weighable part of that.

The carrier is a line of the formula itself, of which so much less is then weighed: nothing is added
that the formula doesn't have, and the sum stays. The premix is made so large that both weighings
together are within the error that the line wants.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from decimal import Decimal
from fractions import Fraction

from labbook.model.sheets import Sheets
from labbook.trade.balance import SMALL_ERROR, Balance, least_mass, mass_for, minimum_weight
from labbook.trade.exact import of_steps, steps, steps_up, to_decimal
from labbook.trade.preservation import percent_in_water
from labbook.trade.scaling import FIXED, Target

STRENGTHS = tuple(Fraction(text) for text in ("50", "20", "10", "5", "2", "1", "0.5", "0.2", "0.1"))
"""Percents of the ingredient in a premix, the strongest first: the least carrier."""

LARGEST = 2
"""How many times the batch a premix may be; beyond, a finer balance is the better help."""

UNKNOWN_SOLUBILITY = Fraction(10)
"""The most percent of a solid in a premix while no sheet says how much dissolves: common practice,
no source.
"""

CARRIERS = {
    "water": ("water", "both"),
    "oil": ("oil",),
    "both": ("water", "oil", "both"),
    "neither": ("water", "oil", "both"),
}
"""In what an ingredient of a solubility may be premixed; what dissolves in nothing is dispersed."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Premix:
    """How to make a premix and what to weigh of it; masses in g, as the balance shows them.

    `part` of the ingredient and `carrier` of the carrier's line `of` make the premix, with
    `strength` percent of the ingredient. `weigh` of it holds `holds` g of the ingredient; then
    `left` is weighed of the carrier's line. `error` is how far the ingredient may be off, by half a
    division in either weighing and by rounding to the display, as a share of it. `dispersed` tells
    that it does not dissolve in the carrier.
    """

    target: Target
    of: Target
    strength: Fraction
    part: Decimal
    carrier: Decimal
    weigh: Decimal
    left: Decimal
    error: Fraction
    dispersed: bool

    @property
    def holds(self) -> Fraction:
        """The ingredient in what is weighed, in g."""
        return Fraction(self.weigh) * self.strength / 100

    @property
    def whole(self) -> Decimal:
        """All of the premix, in g."""
        return self.part + self.carrier


def needs_help(target: Target) -> bool:
    """Whether a line is too small for the balance, or would be nothing on it."""
    return target.too_small or target.lost


def enough_from(target: Target, balance: Balance) -> Decimal | None:
    """The batch size in g from which the balance does for a line; None for no percent.

    A line that no error is wanted of, and that would be nothing on the balance, is judged by the
    error wanted of small lines.
    """
    if target.enough_from is not None or not target.lost or not target.line.percent:
        return target.enough_from
    step = to_decimal(balance.readability)
    least = mass_for(balance.half_division, SMALL_ERROR)
    return of_steps(steps_up(least * 100 / target.line.percent, step), step)


def carrier_for(target: Target, found: Sequence[Target], sheets: Sheets) -> Target | None:
    """The line of the formula to premix a line in; None where none will do.

    A liquid, or water, in which the ingredient dissolves by the sheets, with a plain figure: no
    preservative, active or line with a limit, none that is adjusted. In the line's own phase before
    another, what fills up before the rest, the larger before the smaller.
    """
    sheet = sheets.find(target.line.ingredient)
    if sheet is None or sheet.soluble_in is None:
        return None
    wanted = CARRIERS[sheet.soluble_in]
    fit = [x for x in found if x is not target and _carries(x, sheets, wanted)]
    return min(
        fit,
        key=lambda x: (
            x.line.phase != target.line.phase,
            not x.line.qs,
            -(x.mass or Decimal()),
            x.line.index,
        ),
        default=None,
    )


def _carries(one: Target, sheets: Sheets, wanted: tuple[str, ...]) -> bool:
    sheet = sheets.find(one.line.ingredient)
    if sheet is None or not one.mass or one.line.adjust is not None or one.line.limited:
        return False
    if FIXED & {*one.line.functions, one.line.role or ""}:
        return False
    water = "water" in sheet.functions
    if sheet.volatile_content is not None and not water:  # it would leave as the premix stands
        return False
    liquid = sheet.physical == "liquid" or water
    return liquid and ("water" if water else sheet.soluble_in) in wanted


def premix(
    target: Target,
    found: Sequence[Target],
    sheets: Sheets,
    balance: Balance,
    *,
    strict: bool = False,
) -> Premix | None:
    """A premix for a line that is too small for the balance; None where there is no way.

    The strongest is taken of which enough can be weighed, with no more carrier than its line has.

    Args:
        target: the line; nothing is suggested for what is adjusted by hand.
        found: all targets of the batch.
        sheets: what dissolves in what, and how much of it.
        balance: the balance that all of it is weighed on.
        strict: weigh nothing below the minimum weight of USP <41>.
    """
    if not needs_help(target) or target.line.adjust is not None:
        return None
    carrier = carrier_for(target, found, sheets)
    if carrier is None:
        return None
    most = strongest(target, carrier, sheets)
    batch = sum((Fraction(one.mass or 0) for one in found), Fraction())
    for strength in STRENGTHS:
        if strength <= most:
            made = _of_strength(strength, target, carrier, balance, strict=strict)
            if made is not None and Fraction(made.whole) <= LARGEST * batch:
                own = sheets.find(target.line.ingredient)
                return replace(made, dispersed=own is not None and own.soluble_in == "neither")
    return None


def _of_strength(
    strength: Fraction, target: Target, carrier: Target, balance: Balance, *, strict: bool
) -> Premix | None:
    """The premix of a strength; None where too little of it, or too much carrier, is needed."""
    assert target.exact is not None and target.mass is not None and carrier.mass is not None
    wanted = target.wanted or SMALL_ERROR
    step, half = to_decimal(balance.readability), balance.half_division
    least = max(minimum_weight(balance) if strict else Fraction(), balance.readability)
    weigh = Fraction(of_steps(steps(target.exact * 100 / strength, step), step))
    if weigh < least:
        return None
    spare = wanted - half / weigh - abs(weigh * strength / 100 / target.exact - 1)
    if spare <= 0:
        return None
    part = of_steps(steps_up(max(half / spare, least, weigh * strength / 100), step), step)
    other = of_steps(steps(Fraction(part) * (100 / strength - 1), step), step)
    if not other:
        return None
    real = 100 * Fraction(part) / (Fraction(part) + Fraction(other))
    weighed = of_steps(steps(target.exact * 100 / real, step), step)
    error = half / Fraction(weighed) + half / Fraction(part)
    error += abs(Fraction(weighed) * real / 100 / target.exact - 1)
    left = carrier.mass + target.mass - weighed
    if left < 0 or error > wanted or Fraction(weighed) < least:
        return None
    return Premix(
        target=target,
        of=carrier,
        strength=real,
        part=part,
        carrier=other,
        weigh=weighed,
        left=left,
        error=error,
        dispersed=False,
    )


def strongest(target: Target, carrier: Target, sheets: Sheets) -> Fraction:
    """The most percent of an ingredient that a premix in a carrier may hold."""
    sheet, held = sheets.find(target.line.ingredient), sheets.find(carrier.line.ingredient)
    if sheet is not None and held is not None and "water" in held.functions:
        found = percent_in_water(sheet.water_solubility)
        if found is not None:
            return found[0]
    liquid = sheet is not None and sheet.physical == "liquid"
    return Fraction(50) if liquid else UNKNOWN_SOLUBILITY


def premixes(
    found: Sequence[Target], sheets: Sheets, balance: Balance, *, strict: bool = False
) -> tuple[Premix, ...]:
    """A premix for each line that needs one and can have one, in the order of the formula.

    Each builds on those before it: a carrier that was lent twice is less by both.
    """
    goals = list(found)
    made: list[Premix] = []
    for index in range(len(goals)):
        one = premix(goals[index], goals, sheets, balance, strict=strict)
        if one is not None:
            made.append(one)
            place = next(i for i, goal in enumerate(goals) if goal is one.of)
            goals[place] = replace(one.of, mass=one.left)
    return tuple(made)


def step_for(mass: Fraction, wanted: Fraction, *, strict: bool = False) -> Decimal:
    """The coarsest balance, in g and by powers of ten, that does for a mass.

    On which half a division is within the wanted error; with `strict`, on which it is no less than
    the minimum weight of USP <41> at best.

    Raises:
        ValueError: no mass, or no error wanted.
    """
    if mass <= 0 or wanted <= 0:
        raise ValueError("a mass and a wanted error are above zero")
    step = Decimal(1)
    while mass < least_mass(Balance(readability=Fraction(step)), wanted, strict=strict):
        step /= 10
    return step
