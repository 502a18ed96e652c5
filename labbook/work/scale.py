"""`formula scale`: a formula in grams on a balance, and how well that balance weighs each line."""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence
from decimal import ROUND_CEILING, Decimal
from fractions import Fraction

from labbook.model.errors import Unclear
from labbook.model.quantities import Quantity
from labbook.model.results.calculating import Scaled, ScaledLine
from labbook.trade.balance import Balance, minimum_weight, percent_uncertainties
from labbook.trade.composition import resolve
from labbook.trade.exact import decimal_text, to_decimal, to_places
from labbook.trade.premix import enough_from, needs_help
from labbook.trade.scaling import Target, largest_batch, targets
from labbook.work.bench import Bench
from labbook.work.states import content_of
from labbook.work.weights import balance_at, named_balance, small_lines


def scale(
    bench: Bench,
    typed: str,
    *,
    size: Quantity | None = None,
    balance: str = "",
    have: Mapping[str, Quantity] | None = None,
    strict: bool = False,
) -> Scaled:
    """A formula in grams at the balance's readability, with an exact sum.

    Args:
        bench: the notebook.
        typed: a code or version.
        size: the batch; None takes the formula's, or with `have` the largest that is possible.
        balance: a balance of the notebook; empty takes the default one.
        have: what is at hand, by ingredient.
        strict: the pharmacopoeia's rule for the least weight instead of the bench rule.
    """
    content = content_of(bench, typed)
    formula, sheets = content.formula, bench.snapshot.sheets
    name = named_balance(bench, balance)
    device = balance_at(bench, name)
    readability = to_decimal(device.readability)
    composition = resolve(formula, sheets)
    limiting = ""
    if have:
        most = largest_batch(composition, have, readability, sheets)
        limiting = most.limiting.ingredient
        size = Quantity(most.size, "g")
    size = size or formula.batch_size or bench.snapshot.settings.defaults.batch_size
    if size is None:
        raise Unclear(f"How much of {typed}?", mend=f"labbook formula scale {typed} --size 100g")
    repeated = None if device.repeatability is None else to_decimal(device.repeatability)
    goals = targets(composition, size, readability, repeatability=repeated, strict=strict)
    masses = [goal.mass for goal in goals if goal.mass is not None]
    small = [goal for goal in goals if needs_help(goal)]
    told = small_lines(goals, device, sheets, strict=strict)
    return Scaled(
        name=content.name,
        title=formula.title,
        size=size,
        readability=readability,
        balance=name,
        lines=_lines(goals, device),
        total=f"{sum(masses, Decimal(0)):f}",
        strict=strict,
        minimum=decimal_text(minimum_weight(device)) if strict else "",
        limiting=limiting,
        fine_from=_fine_from(small, device),
        warnings=tuple(warning for warning, _ in told),
        premixes=tuple(made for _, made in told if made is not None),
        findings=tuple(problem.what for problem in composition.problems),
    )


def _lines(goals: Sequence[Target], device: Balance) -> tuple[ScaledLine, ...]:
    doubts = _uncertainties(goals, device)
    return tuple(
        ScaledLine(
            phase=goal.line.phase,
            ingredient=goal.line.ingredient,
            percent="" if goal.line.percent is None else _percent(goal),
            qs=goal.line.qs,
            adjust=goal.line.adjust or "",
            role=goal.line.role or (goal.line.functions[0] if goal.line.functions else ""),
            mass="" if goal.mass is None else f"{goal.mass:f}",
            uncertainty=doubt,
            good_to=None if goal.error is None else to_places(100 * goal.error, 2),
            too_small=needs_help(goal),
        )
        for goal, doubt in zip(goals, doubts, strict=True)
    )


def _percent(goal: Target) -> str:
    assert goal.line.percent is not None
    return decimal_text(goal.line.percent, goal.line.typed)


def _uncertainties(goals: Sequence[Target], device: Balance) -> list[Decimal | None]:
    """The standard uncertainty of each percent, every line tared; None while a mass is missing."""
    masses = [Fraction(goal.mass) for goal in goals if goal.mass is not None]
    if len(masses) < len(goals) or sum(masses) <= 0:
        return [None] * len(goals)
    found = percent_uncertainties(masses, device, "tare")
    return [to_places(Fraction(one), 6) for one in found]


def _fine_from(small: Sequence[Target], device: Balance) -> Quantity | None:
    """The batch size from which every line is large enough, in whole grams."""
    sizes = [enough_from(goal, device) for goal in small]
    needs = [size for size in sizes if size is not None]
    return Quantity(max(needs).to_integral_value(ROUND_CEILING), "g") if needs else None


def parse_have(texts: list[str]) -> dict[str, Quantity]:
    """`jojoba-oil=180g` as masses by ingredient."""
    from labbook.work.correctable import mass_of

    found = {}
    for text in texts:
        name, equals, mass = text.partition("=")
        if not equals or not re.search(r"\S", name):
            raise Unclear(f"{text!r} is no amount at hand.", mend="--have jojoba-oil=180g")
        found[name.strip()] = mass_of(mass)
    return found
