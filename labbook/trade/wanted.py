"""What is wanted of each ingredient: by open batches, and by one usual batch."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from fractions import Fraction

from labbook.model.batch import Batch
from labbook.model.formula import Formula
from labbook.model.moments import in_order
from labbook.model.results.stock import Need
from labbook.model.sheets import Sheets
from labbook.trade.composition import resolve
from labbook.trade.weighing import entries

DONE = Fraction(9, 10)
"""The share of its target from which a line of an open batch counts as weighed: less than that is
taken for a part of it, with the rest to come. Common practice, no source.
"""

SIZE = Fraction(100)
"""The usual batch, in g, where neither formula nor notebook names one."""


def needs_of(batches: Iterable[Batch]) -> dict[str, list[Need]]:
    """What open batches still need, by ingredient; a split takes nothing from a pack."""
    found: dict[str, list[Need]] = {}
    for batch in sorted(batches, key=lambda one: (in_order(one.made), one.id)):
        apart = any(parent.how == "split" for parent in batch.from_)
        if batch.state != "open" or batch.dropped or apart:
            continue
        own: dict[str, list[Fraction | None]] = {}
        held = [entry for entry in entries(batch)[0] if entry.counts and entry.now.line]
        for line in batch.lines:
            here = [entry.mass for entry in held if entry.now.line == line.id]
            still = _still(line.target.exact("g") if line.target else None, here)
            if still is None or still:
                own.setdefault(line.sheet, []).append(still)
        for id_, masses in own.items():
            known = [mass for mass in masses if mass is not None]
            whole = sum(known, Fraction()) if len(known) == len(masses) else None
            found.setdefault(id_, []).append(Need(batch=batch.short, mass=whole))
    return found


def _still(target: Fraction | None, held: list[Fraction | None]) -> Fraction | None:
    """What a line still needs; None where that can't be told."""
    if target is None:
        return Fraction() if held else None
    if any(mass is None for mass in held):
        return Fraction()  # it was weighed, only nobody can read how much
    mass = sum((one for one in held if one is not None), Fraction())
    return Fraction() if mass >= target * DONE else target - mass


def usual_of(
    formulas: Mapping[str, Formula], sheets: Sheets, size: Fraction
) -> dict[str, tuple[Fraction, str]]:
    """What one usual batch takes of each ingredient, of the formula that takes most."""
    found: dict[str, tuple[Fraction, str]] = {}
    for code, formula in sorted(formulas.items()):
        grams = formula.batch_size.exact("g") if formula.batch_size else size
        own: dict[str, Fraction] = {}
        for line in resolve(formula, sheets).lines:
            if line.percent is not None:
                own[line.sheet] = own.get(line.sheet, Fraction()) + line.percent * grams / 100
        for id_, mass in own.items():
            if id_ not in found or mass > found[id_][0]:
                found[id_] = (mass, code)
    return found
