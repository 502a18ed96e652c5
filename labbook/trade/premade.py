"""Which batches could be the premix that a line is weighed from: a short list to choose from.

Only a help in finding it; what the maker chose is what counts.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from fractions import Fraction

from labbook.model.batch import Batch, BatchLine
from labbook.model.materials import Equipment
from labbook.model.moments import in_order
from labbook.model.results.sheet_page import Premade
from labbook.model.sheets import Sheets
from labbook.trade.actual import actual_composition
from labbook.trade.composition import WHOLE
from labbook.trade.stock import uses

FEW_LINES = 4
"""The most lines of a batch that looks like a premix: an active, what carries it, and what keeps
it. Common practice, no source."""

MOST = 8
"""How many are named for a line, the latest."""


def premade(
    batch: Batch,
    batches: Mapping[str, Batch],
    sheets: Sheets,
    equipment: Mapping[str, Equipment] | None = None,
) -> dict[str, tuple[Premade, ...]]:
    """What each line of a batch could be weighed from, by line id, the latest made first.

    A batch that was weighed as that ingredient before; and one of few lines that holds the
    ingredient, or any of few lines where the ingredient's sheet says that it is a premix.
    """
    others = [b for b in batches.values() if b.id != batch.id and not b.dropped]
    others.sort(key=lambda b: (in_order(b.made), b.id), reverse=True)
    before = {
        (use.ingredient, use.of_batch)
        for b in batches.values()
        for use in uses(b, sheets)
        if use.of_batch
    }
    chosen = {line.id: _for(line, batch, others, before, sheets) for line in batch.lines}
    percents = {
        b.id: _percents(b, batches, sheets, equipment or {})
        for b in {b.id: b for found in chosen.values() for b in found}.values()
    }
    return {
        line.id: tuple(Premade(b, _holds(b, line, percents[b.id])) for b in chosen[line.id])
        for line in batch.lines
    }


def holds_of(
    made: Batch,
    line: BatchLine,
    batches: Mapping[str, Batch],
    sheets: Sheets,
    equipment: Mapping[str, Equipment],
) -> Fraction | None:
    """How many percent of a batch are a line's ingredient, as `Premade.holds`."""
    return _holds(made, line, _percents(made, batches, sheets, equipment))


def _for(
    line: BatchLine,
    batch: Batch,
    others: Iterable[Batch],
    before: set[tuple[str, str]],
    sheets: Sheets,
) -> list[Batch]:
    sheet = sheets.find(line.ingredient)
    is_premix = sheet is not None and "premix" in sheet.functions
    found = []
    for other in others:
        small = 0 < len(other.lines) <= FEW_LINES and other.formula.id != batch.formula.id
        fits = small and (is_premix or any(own.sheet == line.sheet for own in other.lines))
        if fits or (line.sheet, other.id) in before:
            found.append(other)
    return found[:MOST]


def _percents(
    batch: Batch,
    batches: Mapping[str, Batch],
    sheets: Sheets,
    equipment: Mapping[str, Equipment],
) -> dict[str, Fraction]:
    """What a batch was made of, in percent by sheet; empty where nobody knows."""
    actual = actual_composition(batch, sheets, batches=batches, equipment=equipment)
    pairs = [(one.sheet, one.percent) for one in actual.materials]
    if not actual.known:
        pairs = [(x.sheet, Fraction(x.percent)) for x in batch.lines if x.percent is not None]
    found: dict[str, Fraction] = {}
    for sheet, percent in pairs:
        found[sheet] = found.get(sheet, Fraction()) + percent
    return found


def _holds(batch: Batch, line: BatchLine, percents: Mapping[str, Fraction]) -> Fraction | None:
    if line.sheet in percents:
        return percents[line.sheet] or None
    is_in = any(own.sheet == line.sheet for own in batch.lines)
    return None if is_in else WHOLE
