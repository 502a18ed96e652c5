"""Plain bounds: the highest use of a sheet, and what a notebook's own rules say of amounts.

A row of `checks` with `of` is a bound: what the selector picks, taken together, lies between `from`
and `to` percent of `where`: the formula, the water phase, the oil phase (what isn't the water
phase), the oils, or another phase.
"""

from __future__ import annotations

from collections.abc import Iterator
from fractions import Fraction

from labbook.model.materials import Value
from labbook.model.rules import CheckRule
from labbook.trade.advice import Advice
from labbook.trade.checks.case import Case, Check, Unseen
from labbook.trade.checks.contents import (
    Part,
    all_parts,
    ends,
    names_of,
    number,
    oils,
    parts,
    selected,
    span,
    total,
    water_phase,
)
from labbook.trade.checks.pairs import once

HIGHEST, USUAL = "over-highest-use", "outside-usual-use"
BODY = frozenset({"oil", "butter", "wax", "water", "solvent"})
"""Functions of what makes up the body of a product, as much as the maker likes."""

_IN_WORDS = {
    "formula": "the formula", "water phase": "the water phase", "oil phase": "the oil phase",
    "oils": "the oils", "other phase": "the other phases",
}  # fmt: skip


def highest_use(case: Case) -> Iterator[Advice | Unseen]:
    """What is above the highest use that its sheet names, lines of one ingredient together."""
    for name, own in _together(case, (*parts(case), *all_parts(case))).items():
        sheet = case.sheets.find(name)
        if sheet is None or sheet.highest_use is None:
            continue
        _, high = ends(sheet.highest_use, None, "%")
        if high is None:
            yield Unseen(HIGHEST, "a highest use in %", name)
            continue
        percent = total(own)
        if percent is None:
            yield Unseen(HIGHEST, "its percent", name)
        elif percent > high:
            what = f"{number(percent)} % {name} is above the {number(high)} % that its sheet names."
            yield case.advice(HIGHEST, what, line=own[0].line, source=_source(sheet.highest_use))


def usual_use(case: Case) -> Iterator[Advice | Unseen]:
    """What is far from the usual use of its sheet: a note, for that is where slips of the pen show.

    Oils, butters and waxes have no usual use of their own, and of a blend only its own figure
    counts: what is usual for a part alone says little inside it. A batch repeats none of it.
    """
    figures = case.rule(USUAL).figures or {}
    times = Fraction(figures.get("times over or under", 1))
    for name, own in _together(case, parts(case)).items():
        sheet = case.sheets.find(name)
        percent = total(own)
        if sheet is None or sheet.usual_use is None or not percent or case.batch is not None:
            continue
        if BODY & set(sheet.functions):
            continue
        low, high = ends(sheet.usual_use, None, "%")
        _, most = ends(sheet.highest_use, None, "%")
        if most is not None and percent > most:
            continue  # said already, and harder
        over = high is not None and percent > high * times
        if over or (low is not None and percent < low / times):
            what = f"{number(percent)} % {name}; usual is {span(low, high)} %."
            yield case.advice(USUAL, what, line=own[0].line, source=_source(sheet.usual_use))


def _source(given: Value) -> str | None:
    return f"its sheet: {given.source}" if given.source else None


def _together(case: Case, every: tuple[Part, ...]) -> dict[str, tuple[Part, ...]]:
    """The materials by name, each once."""
    found: dict[str, tuple[Part, ...]] = {}
    for part in once(every):
        name = case.sheets.name_of(case.sheets.id_of(part.ingredient))
        found[name] = (*found.get(name, ()), part)
    return found


# Bounds as data ----------------------------------------------------------------------------------


def bounds(case: Case) -> Iterator[Advice | Unseen]:
    """The rules of the rule files that are nothing but a bound."""
    for name, row in case.rules.checks.items():
        if row.of is None or row.where is None or (row.from_ is None and row.to is None):
            continue
        if row.severity == "off" or (row.emulsions and case.emulsion() not in row.emulsions):
            continue
        yield from _bound(case, name, row)


def _bound(case: Case, name: str, row: CheckRule) -> Iterator[Advice | Unseen]:
    low = None if row.from_ is None else Fraction(row.from_)
    high = None if row.to is None else Fraction(row.to)
    own = selected(case, row.of, parts(case)) or selected(case, row.of, all_parts(case))
    whole, inside = _base(case, row.where or "formula", own)
    amount = total(inside)
    if whole is None or amount is None:
        if inside or low is not None:
            yield Unseen(name, f"the percent of {row.where}")
        return
    if not whole or (not inside and low is None):
        return
    share = amount * 100 / whole
    if (low is None or share >= low) and (high is None or share <= high):
        return
    place = _IN_WORDS[row.where or "formula"]
    who = names_of(inside) or f"What {name} asks for"
    plural = len({part.ingredient for part in inside}) > 1
    how = f"{who} {'make' if plural else 'makes'} up {number(share)} % of {place}"
    what = f"{how}; {_wanted(low, high)} is wanted. {row.what or ''}".strip()
    yield case.advice(name, what, line=inside[0].line if inside else None)


def _wanted(low: Fraction | None, high: Fraction | None) -> str:
    if low is not None and high is not None:
        return f"{number(low)} to {number(high)} %"
    if high is not None:
        return f"at most {number(high)} %"
    return f"at least {number(low or Fraction())} %"


def _base(
    case: Case, where: str, own: tuple[Part, ...]
) -> tuple[Fraction | None, tuple[Part, ...]]:
    """The amount that a bound is a share of, in percent of the formula, and what counts in it."""
    if where == "formula":
        return Fraction(100), own
    if where == "oils":
        fats = oils(case)
        return total(fats), tuple(part for part in own if part in fats)
    water = water_phase(case)
    if water is None:
        return None, own
    letter, percent = water
    if where == "water phase":
        return percent, tuple(part for part in own if part.phase == letter)
    phases = {one.phase: one.percent for one in case.composition.phase_totals()}
    fat = _oil_phase(case, letter)
    wanted = {fat} if where == "oil phase" else set(phases) - {letter, fat}
    sizes = [size for name, size in phases.items() if name in wanted]
    inside = tuple(part for part in own if part.phase in wanted)
    if None in sizes:
        return None, inside
    return sum((size for size in sizes if size is not None), Fraction()), inside


def _oil_phase(case: Case, water: str) -> str:
    """The phase beside the water phase that holds the most oil; empty without any oil."""
    amounts: dict[str, Fraction] = {}
    for part in oils(case):
        if part.phase != water:
            amounts[part.phase] = amounts.get(part.phase, Fraction()) + (part.percent or 0)
    return max(amounts, key=lambda name: amounts[name], default="")


CHECKS: tuple[Check, ...] = (highest_use, usual_use, bounds)
