"""A batch as a formula: the percents of what it was really made of, with their uncertainty."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field, replace
from decimal import Decimal
from fractions import Fraction

from labbook.model.batch import Batch
from labbook.model.formula import Formula, Line, Phase
from labbook.model.sheets import Sheets
from labbook.trade.actual import ActualComposition, ActualLine, actual_composition
from labbook.trade.composition import Composition, resolve
from labbook.trade.exact import to_places
from labbook.trade.pots import RETURNED

_PLACES = 12

Where = tuple[str, int]
"""A list of the batch file and the index of an entry in it: `("lines", 2)`."""


@dataclass(frozen=True, slots=True)
class Made:
    """What came out of the vessel: a formula of the real percents, and where each line stands.

    Premixes and parents are taken apart into what they were made of. `masses` are in g, in the
    order of the lines; `uncertainties` are the standard uncertainties of their percents.
    """

    formula: Formula
    composition: Composition
    places: tuple[Where, ...]
    masses: tuple[Fraction, ...]
    uncertainties: Mapping[int, Decimal] = field(default_factory=dict)


def as_made(
    batch: Batch, planned: Formula, sheets: Sheets, actual: ActualComposition | None = None
) -> Made | None:
    """The batch as it was made; None where a line has no weighing, for then nobody knows.

    Args:
        batch: the batch; corrections count.
        planned: the content that it is pinned to, for type, method and aims.
        sheets: all sheets.
        actual: what it was made of; without it, what the batch alone can tell.
    """
    if actual is None:
        actual = actual_composition(batch, sheets)
    if not actual.known:
        return None
    last = batch.lines[-1].phase if batch.lines else "A"
    found = [(one.phase or last, one) for one in actual.materials]
    letters = dict.fromkeys([*(p.phase for p in planned.phases), *(at for at, _ in found)])
    ordered = [pair for letter in letters for pair in found if pair[0] == letter]
    percents = _adding_up([one.percent for _, one in ordered])
    lines = [
        (at, replace(_line(batch, one), percent=percent))
        for (at, one), percent in zip(ordered, percents, strict=True)
    ]
    names = {phase.phase: phase.name for phase in planned.phases}
    phases = tuple(
        Phase(phase=x, name=names.get(x), lines=tuple(own for at, own in lines if at == x))
        for x in letters
    )
    formula = replace(planned, phases=phases)
    return Made(
        formula,
        _untyped(resolve(formula, sheets)),
        tuple(_place(batch, one) for _, one in ordered),
        tuple(one.mass for _, one in ordered),
        {index: one.uncertainty for index, (_, one) in enumerate(ordered)},
    )


def _line(batch: Batch, one: ActualLine) -> Line:
    """A material as a line of a formula, with the role of the batch's own line of it."""
    own = next((line for line in batch.lines if line.id == one.key), None)
    if own is None or own.sheet != one.sheet:
        return Line(ingredient=one.ingredient or one.key)
    return Line(ingredient=own.ingredient, role=own.role, adjust=own.adjust)


def _place(batch: Batch, one: ActualLine) -> Where:
    """Where in the batch's file a material stands: its line, its weighing, or its parent."""
    start = one.key.partition(":")[0]
    for where, ids in (
        ("lines", [line.id for line in batch.lines]),
        ("weighings", [weighing.id for weighing in batch.weighings]),
        ("from", [parent.batch.rsplit("-", 1)[-1] for parent in batch.from_]),
    ):
        if start in ids:
            return where, ids.index(start)
    returned = [n for n, read in enumerate(batch.readings) if read.reading == RETURNED]
    return "readings", returned[0] if returned else 0


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
