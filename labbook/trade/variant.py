"""A formula with one thing made otherwise, for a trial batch: an amount, a phase, a set point.

Every function gives a new content that adds up as the old one did; what a content can't express
(another lot, another balance) is none of its business.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from decimal import Decimal
from fractions import Fraction
from typing import Any

from labbook.model.fields import Qs
from labbook.model.formula import Formula, Line, Phase, Step
from labbook.model.quantities import Quantity
from labbook.model.sheets import Sheets
from labbook.trade.composition import resolve
from labbook.trade.exact import to_decimal


class NoSuchLine(ValueError):
    """The formula has no line, phase or step to change."""


def with_amount(
    formula: Formula, sheets: Sheets, ingredient: str, percent: Decimal, phase: str = ""
) -> Formula:
    """The formula with another percent of an ingredient; the q.s. line takes up the difference.

    Args:
        formula: where it is changed; its own q.s. line may not be the one that is changed.
        sheets: names of the ingredients.
        ingredient: any name of it.
        percent: by weight of the formula; 0 takes the line out.
        phase: where it stands in two phases; in a phase without it a line is added.

    Raises:
        NoSuchLine: no such phase, or the line is the one that fills up.
    """
    wanted = sheets.id_of(ingredient)

    def meant(letter: str, line: Line) -> bool:
        return sheets.id_of(line.ingredient) == wanted and letter == (phase or letter)

    held = [line for letter, line in _lettered(formula) if meant(letter, line)]
    if any(isinstance(line.percent, Qs) for line in held):
        raise NoSuchLine(f"{ingredient} fills up to 100 %; it changes with the others only")
    if not held:
        added = Line(ingredient=sheets.name_of(wanted), percent=percent)
        return balanced(_into(formula, phase, added), sheets, before=formula)

    def change(letter: str, line: Line) -> Line | None:
        if not meant(letter, line):
            return line
        return replace(line, percent=percent, active_percent=None) if percent else None

    return balanced(_each_line(formula, change), sheets, before=formula)


def moved(formula: Formula, sheets: Sheets, ingredient: str, phase: str) -> Formula:
    """The formula with an ingredient in another phase, at the same percent.

    Raises:
        NoSuchLine: it has no such ingredient or phase.
    """
    wanted = sheets.id_of(ingredient)
    held = [line for _, line in _lettered(formula) if sheets.id_of(line.ingredient) == wanted]
    if not held:
        raise NoSuchLine(f"{formula.code} has no {ingredient}")
    rest = _each_line(
        formula, lambda _, line: None if sheets.id_of(line.ingredient) == wanted else line
    )
    return _into(rest, phase, held[0])


def replaced(formula: Formula, sheets: Sheets, ingredient: str, by: str) -> Formula:
    """The formula with another ingredient in the place of one, gram for gram.

    Raises:
        NoSuchLine: it has no such ingredient.
    """
    wanted = sheets.id_of(ingredient)
    if wanted not in {sheets.id_of(line.ingredient) for _, line in _lettered(formula)}:
        raise NoSuchLine(f"{formula.code} has no {ingredient}")

    def change(_: str, line: Line) -> Line:
        same = sheets.id_of(line.ingredient) == wanted
        return replace(line, ingredient=sheets.name_of(sheets.id_of(by))) if same else line

    return _each_line(formula, change)


def with_set_point(formula: Formula, step: str, phase: str, degrees: Quantity) -> Formula:
    """The formula with another temperature of a phase in a step.

    Raises:
        NoSuchLine: its method has no such step.
    """

    def change(one: Step) -> Step:
        return replace(one, set={**(one.set or {}), phase: degrees})

    return _step(formula, step, change)


def with_step(formula: Formula, step: str, **keys: Any) -> Formula:
    """The formula with other set points of a step: `rate="slow"`, `over=Quantity(...)`.

    Raises:
        NoSuchLine: its method has no such step.
    """
    return _step(formula, step, lambda one: replace(one, **keys))


def balanced(formula: Formula, sheets: Sheets, *, before: Formula) -> Formula:
    """The formula with the difference to another taken up where nothing fills up by itself.

    The line that takes it up is the largest one of water, else the largest of all.

    Raises:
        NoSuchLine: no line can take it up.
    """
    now, then = resolve(formula, sheets), resolve(before, sheets)
    if now.qs_line is not None:
        return formula
    missing = then.total - now.total
    lines = [line for line in now.lines if line.percent and not line.limited]
    water = [line for line in lines if "water" in line.functions]
    if not missing:
        return formula
    if not lines:
        raise NoSuchLine(f"{formula.code} has no line that could take up {float(missing):.2f} %")
    taker = max(water or lines, key=lambda line: line.percent or Fraction())
    amount = to_decimal((taker.percent or Fraction()) + missing)
    number = iter(range(len(now.lines)))
    return _each_line(
        formula,
        lambda _, line: replace(line, percent=amount) if next(number) == taker.index else line,
    )


def _lettered(formula: Formula) -> list[tuple[str, Line]]:
    return [(phase.phase, line) for phase, line in formula.lines]


def _each_line(formula: Formula, change: Callable[[str, Line], Line | None]) -> Formula:
    phases = []
    for phase in formula.phases:
        lines = [change(phase.phase, line) for line in phase.lines]
        phases.append(replace(phase, lines=tuple(line for line in lines if line is not None)))
    return replace(formula, phases=tuple(phases))


def _into(formula: Formula, letter: str, line: Line) -> Formula:
    if letter not in {phase.phase for phase in formula.phases}:
        raise NoSuchLine(f"{formula.code} has no phase {letter}")

    def change(phase: Phase) -> Phase:
        here = phase.phase == letter
        return replace(phase, lines=(*phase.lines, line)) if here else phase

    return replace(formula, phases=tuple(change(phase) for phase in formula.phases))


def _step(formula: Formula, id_: str, change: Callable[[Step], Step]) -> Formula:
    if id_ not in {step.id for step in formula.method}:
        raise NoSuchLine(f"the method of {formula.code} has no step {id_}")
    steps = tuple(change(step) if step.id == id_ else step for step in formula.method)
    return replace(formula, method=steps)
