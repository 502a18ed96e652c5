"""`ingredient stock`: what is left, what is wanted, and what is old."""

from __future__ import annotations

from difflib import get_close_matches

from labbook.model.errors import UnknownName
from labbook.model.results.stock import Stock
from labbook.model.sheets import fold
from labbook.trade.stock import stock as reckon
from labbook.work.bench import Bench


def stock(bench: Bench, name: str = "") -> Stock:
    """The stock of the notebook, or of one ingredient by any of its names or that of a lot.

    Raises:
        UnknownName: no sheet, lot, batch or formula knows the ingredient.
    """
    snapshot = bench.snapshot
    size = snapshot.settings.defaults.batch_size
    return reckon(
        snapshot.batches,
        snapshot.lots,
        snapshot.sheets,
        snapshot.formulas,
        bench.today,
        usual_size=size.exact("g") if size else None,
        only=_ingredient(bench, name) if name else "",
    )


def _ingredient(bench: Bench, typed: str) -> str:
    """The id of the ingredient that a name means."""
    snapshot = bench.snapshot
    sheets = snapshot.sheets
    if typed in snapshot.lots:
        return sheets.id_of(snapshot.lots[typed].ingredient)
    sheet = sheets.find(typed)
    if sheet is not None:
        return sheet.id
    named = [lot.ingredient for lot in snapshot.lots.values()]
    named += [line.ingredient for f in snapshot.formulas.values() for _, line in f.lines]
    named += [line.sheet for batch in snapshot.batches.values() for line in batch.lines]
    for one in named:
        if fold(one) == fold(typed):
            return sheets.id_of(one)
    near = get_close_matches(typed, [*snapshot.ingredients, *snapshot.lots], n=3, cutoff=0.5)
    raise UnknownName(
        f"The notebook has no ingredient {typed}.",
        mend=f"Near it: {', '.join(near)}" if near else "See: labbook ingredient list",
    )
