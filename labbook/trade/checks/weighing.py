"""Weighing: lines too small for the notebook's balance, and the batch from which it does."""

from __future__ import annotations

from collections.abc import Iterator
from fractions import Fraction

from labbook.model.quantities import Quantity
from labbook.trade.advice import Advice
from labbook.trade.balance import Balance
from labbook.trade.checks.case import Case, Check, Unseen
from labbook.trade.checks.contents import number
from labbook.trade.exact import to_decimal
from labbook.trade.premix import enough_from, needs_help, premix
from labbook.trade.scaling import Target, targets

_RULE = "too-small-for-the-balance"


def too_small(case: Case) -> Iterator[Advice | Unseen]:
    """Lines whose error by the balance's division is beyond what their function wants.

    By the bench rule; a line that the balance shows as nothing is too small whatever it is for.
    A batch has been weighed already, and is left out.
    """
    size = _size(case)
    if case.batch is not None or size is None:
        return
    if case.balance is None:
        yield Unseen(_RULE, "the readability of the notebook's balance")
        return
    if size.exact("g") < case.balance.readability:
        return
    found = targets(case.composition, size, to_decimal(case.balance.readability))
    small = [one for one in found if one.exact and needs_help(one)]
    for one in small:
        yield _advice(case, one, small, found, case.balance)


def _size(case: Case) -> Quantity | None:
    if case.size is not None:
        return Quantity(to_decimal(case.size), "g") if case.size > 0 else None
    given = case.formula.batch_size
    return given if given is not None and given.value > 0 else None


def _advice(
    case: Case, one: Target, small: list[Target], found: tuple[Target, ...], balance: Balance
) -> Advice:
    size = sum((target.exact or Fraction() for target in found), Fraction())
    what = (
        f"{number(one.exact or 0)} g {one.line.ingredient} in a batch of {number(size)} g: the "
        f"balance shows steps of {number(balance.readability)} g"
    )
    if one.lost:
        what += ", and this as nothing."
    else:
        what += f", half a step is {number((one.error or Fraction()) * 100)} % of it"
        what += f"; {number((one.wanted or Fraction()) * 100)} % is wanted."
    own = enough_from(one, balance)
    sizes = [enough for target in small if (enough := enough_from(target, balance)) is not None]
    mend = "Make a larger batch"
    if own is not None:
        mend = f"A batch of {number(Fraction(own))} g is large enough for it"
        if max(sizes) > own:
            mend += f", one of {number(Fraction(max(sizes)))} g for all lines"
    return case.advice(_RULE, what, mend=f"{mend}. {_premixed(case, one, found, balance)}".strip(),
                       line=one.line.index)  # fmt: skip


def _premixed(case: Case, one: Target, found: tuple[Target, ...], balance: Balance) -> str:
    """The premix that would do, with its masses; empty where there is none."""
    made = premix(one, found, case.sheets, balance)
    if made is None:
        return ""
    how = "disperse" if made.dispersed else "dissolve"
    return (
        f"Or {how} {made.part:f} g of it in {made.carrier:f} g {made.of.line.ingredient}, and "
        f"weigh {made.weigh:f} g of that and {made.left:f} g {made.of.line.ingredient}."
    )


CHECKS: tuple[Check, ...] = (too_small,)
