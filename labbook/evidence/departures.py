"""Where the making departed from the method so far that an outcome should be read with it."""

from __future__ import annotations

from fractions import Fraction

from labbook.model.batch import Batch
from labbook.model.formula import Formula
from labbook.model.quantities import Quantity
from labbook.trade.standing import standing

MATTERS_FROM = 5
"""Degrees Celsius from which a temperature at combining counts as another one."""


def departures(batch: Batch, formula: Formula | None) -> tuple[str, ...]:
    """Phases that were more than 5 °C off their set point when combined, in words.

    `water phase was at 58 °C`. The set point is the combining step's own, else the last one before.
    """
    wanted: dict[str, Quantity] = {}
    found = []
    for step in standing(batch).steps:
        if step.plan and step.plan.set:
            wanted |= step.plan.set
        if not (step.plan and step.plan.do == "combine" and step.done and step.done.temperatures):
            continue
        for phase, was in step.done.temperatures.items():
            if phase in wanted and abs(_degrees(was) - _degrees(wanted[phase])) > MATTERS_FROM:
                found.append(f"{_name(phase, formula)} was at {was}")
    return tuple(found)


def _degrees(temperature: Quantity) -> Fraction:
    return temperature.exact("°C")


def _name(letter: str, formula: Formula | None) -> str:
    for phase in formula.phases if formula else ():
        if phase.phase == letter and phase.name and " " not in phase.name:
            return f"{phase.name} phase"
    return f"phase {letter}"
