"""A batch as a formula: the percents that were really weighed, with their uncertainty."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace
from decimal import Decimal
from fractions import Fraction

from labbook.model.batch import Batch
from labbook.model.formula import Formula, Line, Phase
from labbook.model.sheets import Sheets
from labbook.trade.balance import Balance, percent_uncertainties
from labbook.trade.composition import Composition, resolve
from labbook.trade.exact import to_places
from labbook.trade.weighing import actual_percent, weighed

_PLACES = 12

Where = tuple[str, int]
"""A list of the batch file and the index of an entry in it: `("lines", 2)`."""


@dataclass(frozen=True, slots=True)
class Made:
    """What lay in the vessel: a formula of the weighed percents, and where each line stands.

    `masses` are in g, in the order of the lines.
    """

    formula: Formula
    composition: Composition
    places: tuple[Where, ...]
    masses: tuple[Fraction, ...]

    def uncertainty(self, balance: Balance) -> Mapping[int, Decimal]:
        """The standard uncertainty of each line's percent, every line tared on this balance."""
        found = percent_uncertainties(self.masses, balance, "tare")
        return dict(enumerate(found))


def as_made(batch: Batch, planned: Formula, sheets: Sheets) -> Made | None:
    """The batch as it was weighed; None where a line has no weighing, for then nobody knows.

    Args:
        batch: the batch; corrections count.
        planned: the content that it is pinned to, for type, method and aims.
        sheets: all sheets.
    """
    actual = actual_percent(batch)
    if actual.lines is None or actual.unplanned is None:
        return None
    held = weighed(batch)
    found: list[tuple[str, Line, Where, Fraction, Fraction]] = []
    for index, line in enumerate(batch.lines):
        own = Line(ingredient=line.ingredient, role=line.role, adjust=line.adjust)
        mass = held.lines[line.id] or Fraction()
        found.append((line.phase, own, ("lines", index), actual.lines[line.id], mass))
    ids = [one.id for one in batch.weighings]
    for entry in held.unplanned:
        name = entry.now.ingredient or entry.now.batch or entry.now.id
        where = ("weighings", ids.index(entry.now.id))
        phase = entry.now.phase or (batch.lines[-1].phase if batch.lines else "A")
        share = actual.unplanned[entry.now.id]
        found.append((phase, Line(ingredient=name), where, share, entry.mass or Fraction()))
    letters = dict.fromkeys([*(p.phase for p in planned.phases), *(one[0] for one in found)])
    ordered = [one for letter in letters for one in found if one[0] == letter]
    percents = _adding_up([one[3] for one in ordered])
    lines = [(one[0], replace(one[1], percent=p)) for one, p in zip(ordered, percents, strict=True)]
    names = {phase.phase: phase.name for phase in planned.phases}
    phases = tuple(
        Phase(phase=x, name=names.get(x), lines=tuple(own for at, own in lines if at == x))
        for x in letters
    )
    formula = replace(planned, phases=phases)
    return Made(
        formula,
        _untyped(resolve(formula, sheets)),
        tuple(one[2] for one in ordered),
        tuple(one[4] for one in ordered),
    )


def _adding_up(percents: list[Fraction]) -> list[Decimal]:
    """The percents with a dozen decimals, the largest of them taking what rounding leaves."""
    found = [to_places(one, _PLACES) for one in percents]
    if found:
        largest = max(range(len(found)), key=lambda i: found[i])
        found[largest] += 100 - sum(found)
    return found


def _untyped(composition: Composition) -> Composition:
    """Nobody typed these percents, so no screen may show them as if."""
    return replace(
        composition, lines=tuple(replace(line, typed=None) for line in composition.lines)
    )
