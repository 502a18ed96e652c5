"""What a next batch would be: the good batch with some differences of the failed one put in.

A difference that a formula can express (an amount, a phase, a set point) becomes part of the
trial's content; another (a pack, a room) is an instruction; a third (the day) can't be made again.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from decimal import Decimal
from fractions import Fraction

from labbook.evidence.factors.types import Factor
from labbook.model.formula import Formula
from labbook.model.quantities import Quantity, QuantityError, parse_quantity
from labbook.model.sheets import Sheets
from labbook.trade.composition import Composition, resolve
from labbook.trade.exact import decimal_text, to_decimal, to_places
from labbook.trade.variant import (
    NoSuchLine,
    moved,
    replaced,
    with_amount,
    with_set_point,
    with_step,
)

_STEP_KEYS = {
    "took": "over",
    "hold": "hold",
    "mixed": "then_mix",
    "until": "stir_until",
    "speed": "speed",
    "rate": "rate",
    "with": "with_",
}
_BY_HAND = frozenset(
    {"skipped", "lot", "supplier", "grade", "device", "shear", "room", "size", "container",
     "fill level", "place", "fill temperature"}
)  # fmt: skip
"""Differences that a batch can be given though its formula doesn't say them."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Trial:
    """The next batch of one setting: its content, what is changed in it, and what to do by hand.

    `cannot` names the differences of the setting that no batch can be given; the trial is then not
    to be offered.
    """

    content: Formula
    changes: tuple[str, ...] = ()
    by_hand: tuple[str, ...] = ()
    cannot: tuple[str, ...] = ()


def trial_of(
    base: Formula, failed: Formula | None, factors: Sequence[Factor], sheets: Sheets
) -> Trial:
    """The good batch's content with some factors as in the failed batch.

    Args:
        base: the content of the good batch.
        failed: that of the failed batch, whose own figures are taken where it has them.
        factors: what is to be as in the failed batch.
        sheets: the ingredient sheets.
    """
    made = Trial(content=base)
    for factor in factors:
        made = _put_in(made, failed, factor, sheets)
    return made


def _put_in(made: Trial, failed: Formula | None, factor: Factor, sheets: Sheets) -> Trial:
    try:
        content = _changed(made.content, failed, factor, sheets)
    except (NoSuchLine, QuantityError):
        content = None
    if content is not None:
        takes = _taker(made.content, content, factor, sheets)
        return replace(made, content=content, changes=(*made.changes, _said(factor, takes)))
    if factor.kind in _BY_HAND:
        unit = f" {factor.unit}" if factor.unit else ""
        told = f"{factor.what}: {factor.failed}{unit}, not {factor.good}{unit}"
        return replace(made, by_hand=(*made.by_hand, told))
    return replace(made, cannot=(*made.cannot, factor.what))


def _changed(
    content: Formula, failed: Formula | None, factor: Factor, sheets: Sheets
) -> Formula | None:
    """The content with one factor as in the failed batch; None where no content can say it."""
    if factor.kind == "substitution" and len(factor.sheets) == 2:
        here = {sheets.id_of(line.ingredient) for _, line in content.lines}
        out = next((one for one in factor.sheets if one in here), "")
        into = next((one for one in factor.sheets if one != out), "")
        return replaced(content, sheets, out, into) if out and into else None
    if factor.kind == "amount" and factor.sheets:
        return _with_amount(content, failed, factor, sheets)
    if factor.kind == "phase of entry" and factor.sheets and failed is not None:
        phase = _phase_in(failed, factor.sheets[0], sheets)
        return moved(content, sheets, factor.sheets[0], phase) if phase else None
    if factor.step and len(factor.key) > 2:
        return _with_step(content, factor)
    return None


def _with_amount(
    content: Formula, failed: Formula | None, factor: Factor, sheets: Sheets
) -> Formula | None:
    sheet = factor.sheets[0]
    if len(factor.sheets) > 1:
        return _with_component(content, failed, factor, sheets)
    wanted = _percent_in(failed, sheet, sheets) if failed is not None else None
    if wanted is None:
        wanted = _figure(factor.failed)
    phase = _phase_in(content, sheet, sheets) or (
        _phase_in(failed, sheet, sheets) if failed else ""
    )
    if wanted is None or not phase:
        return None
    return with_amount(content, sheets, sheet, to_decimal(wanted), phase)


def _with_component(
    content: Formula, failed: Formula | None, factor: Factor, sheets: Sheets
) -> Formula | None:
    """The content with so much of a component by itself as the failed batch's blends bring more."""
    sheet, *blends = factor.sheets
    own = _percent_in(content, sheet, sheets)
    a, b = _figure(factor.failed), _figure(factor.good)
    held = (content, failed) if failed is not None else (content,)
    phases = [_phase_in(one, name, sheets) for name in (sheet, *blends) for one in held]
    phase = next((one for one in phases if one), "")
    if own is None or a is None or b is None or not phase or own + a - b < 0:
        return None
    return with_amount(content, sheets, sheet, to_decimal(own + a - b), phase)


def _with_step(content: Formula, factor: Factor) -> Formula | None:
    part = factor.key[-1]
    if factor.kind in ("temperature", "gap"):
        return with_set_point(
            content, factor.step, part, parse_quantity(f"{factor.failed} {factor.unit or '°C'}")
        )
    key = _STEP_KEYS.get(part)
    if key is None or not factor.failed:
        return None
    value: str | Quantity = f"{factor.failed} {factor.unit}".strip()
    if key in ("over", "hold", "then_mix", "stir_until"):
        value = parse_quantity(str(value))
    return with_step(content, factor.step, **{key: value})


def _percent_in(formula: Formula, sheet: str, sheets: Sheets) -> Fraction | None:
    """An ingredient's percent in a content; 0 where it isn't in it, None where it isn't known."""
    held = [line for line in resolve(formula, sheets).lines if line.sheet == sheet]
    if any(line.percent is None for line in held):
        return None
    return sum((line.percent or Fraction() for line in held), Fraction())


def _phase_in(formula: Formula, sheet: str, sheets: Sheets) -> str:
    return next((line.phase for line in resolve(formula, sheets).lines if line.sheet == sheet), "")


def _figure(text: str) -> Fraction | None:
    try:
        return Fraction(Decimal(text.strip().removesuffix("%").strip()))
    except ArithmeticError:
        return Fraction() if text.strip() == "none" else None


def _taker(before: Formula, after: Formula, factor: Factor, sheets: Sheets) -> str:
    """Which line took up the change, and what it then has."""
    if factor.kind != "amount":
        return ""
    old, new = resolve(before, sheets), resolve(after, sheets)
    for line in new.lines:
        if line.sheet in factor.sheets or line.percent is None:
            continue
        was = _percent_of(old, line.sheet)
        if was is not None and was != line.percent:
            places = 2 if line.typed is None else max(2, -int(line.typed.as_tuple().exponent))
            return f"{line.ingredient} takes it up ({to_places(line.percent, places):f} %)"
    return ""


def _percent_of(composition: Composition, sheet: str) -> Fraction | None:
    return next((line.percent for line in composition.lines if line.sheet == sheet), None)


def _said(factor: Factor, takes: str) -> str:
    unit = f" {factor.unit}" if factor.unit else ""
    told = f"{factor.what} {factor.good} → {factor.failed}{unit}"
    return f"{told}, {takes}" if takes else told


# What may not be offered -------------------------------------------------------------------------


def unsafe(base: Formula, trial: Formula, sheets: Sheets) -> tuple[str, ...]:
    """Why a trial's content may not be offered; empty where nothing speaks against it.

    It may not take out the only preservative of a formula with water, go beyond an ingredient's
    highest use, or leave a sum that is not 100 %. Limits of law are for the caller to add.
    """
    found = resolve(trial, sheets)
    said = []
    if not found.complete:
        said.append("the lines would not add up to 100 %")
    before = _preservatives(resolve(base, sheets))
    water = found.water()
    if before and not _preservatives(found) and (water.most is None or water.most > 0):
        said.append("it would have water and no preservative")
    for line in found.lines:
        sheet = sheets.find(line.ingredient)
        highest = sheet.highest_use if sheet else None
        if highest is None or line.percent is None:
            continue
        most = highest.value if highest.value is not None else highest.to
        if most is not None and line.percent > Fraction(most):
            said.append(
                f"{line.ingredient} would be {decimal_text(line.percent)} %, and its sheet allows"
                f" {most:f} %"
            )
    return tuple(said)


def _preservatives(composition: Composition) -> frozenset[str]:
    return frozenset(
        line.sheet
        for line in composition.lines
        if ("preservative" in line.functions or line.role == "preservative") and line.percent
    )
