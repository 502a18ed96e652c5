"""What is left of every lot: its size less all that was weighed from it, reckoned anew each time.

Weighings count as they stand after corrections, without struck ones, in batches that were dropped
too: what was weighed is gone. A premix is a batch; what was weighed of it, reworked or split off is
taken from its yield. What isn't written down stays unknown and is never taken for nothing.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field
from datetime import date
from fractions import Fraction

from labbook.model.batch import Batch
from labbook.model.formula import Formula
from labbook.model.materials import Lot
from labbook.model.moments import day_of, in_order
from labbook.model.results.stock import BulkStock, IngredientStock, LotStock, Need, Stock
from labbook.model.sheets import Sheets
from labbook.trade.standing import standing
from labbook.trade.wanted import SIZE, needs_of, usual_of
from labbook.trade.weighing import entries

SOON = 60
"""Days before the day on the pack from which a lot is named."""

LONG_OPEN = 365
"""Days after opening from which a lot is named: common practice, no source. It says nothing about
whether the material is still good; the supplier's papers do.
"""

MATERIAL = ("split", "rework")
"""How a parent gives mass; a control is only compared with."""


@dataclass(frozen=True, slots=True)
class Use:
    """A weighing that counts: of a lot, of a batch, or of neither.

    `ingredient` is the sheet's id; `mass` in g, None where its correction can't be read.
    """

    batch: str
    ingredient: str
    mass: Fraction | None
    lot: str = ""
    of_batch: str = ""


@dataclass
class _Sum:
    """A sum that knows what it couldn't count, and where it came from."""

    mass: Fraction = Fraction()
    unread: int = 0
    batches: dict[str, None] = field(default_factory=dict)

    def add(self, mass: Fraction | None, batch: str) -> None:
        self.mass += mass or 0
        self.unread += mass is None
        self.batches[batch] = None


def uses(batch: Batch, sheets: Sheets) -> tuple[Use, ...]:
    """What was weighed into a batch, entry by entry, as it stands after corrections."""
    lines = {line.id: line for line in batch.lines}
    found = []
    for entry in entries(batch)[0]:
        if not entry.counts:
            continue
        now = entry.now
        line = lines.get(now.line or "")
        name = line.sheet if line else sheets.id_of(now.ingredient) if now.ingredient else ""
        found.append(Use(batch.id, name, entry.mass, now.lot or "", now.batch or ""))
    return tuple(found)


def loose_ingredients(batch: Batch, sheets: Sheets) -> tuple[str, ...]:
    """Ingredients of a batch that lead to no pack: weighed without a lot, or not weighed at all."""
    found = uses(batch, sheets)
    loose = [use.ingredient for use in found if use.ingredient and not (use.lot or use.of_batch)]
    if not any(parent.how == "split" for parent in batch.from_):
        weighed = {use.ingredient for use in found}
        loose += [line.sheet for line in batch.lines if line.sheet not in weighed]
    return tuple(dict.fromkeys(sheets.name_of(id_) for id_ in loose))


def stock(
    batches: Mapping[str, Batch],
    lots: Mapping[str, Lot],
    sheets: Sheets,
    formulas: Mapping[str, Formula],
    today: date,
    *,
    usual_size: Fraction | None = None,
    only: str = "",
) -> Stock:
    """What is left, what is wanted, and what is old.

    Args:
        batches: all batches by full id, dropped ones too.
        lots: all lots by name.
        sheets: all sheets.
        formulas: today's formulas, which say what a usual batch takes.
        today: the day.
        usual_size: the notebook's batch size in g, for formulas without one.
        only: an ingredient's id; empty takes all of which a lot was written down or that an open
            batch needs.
    """
    used = [use for batch in batches.values() for use in uses(batch, sheets)]
    bulks, taken = _bulks(batches, used), _taken(batches, used)
    needs, wanted = needs_of(batches.values()), usual_of(formulas, sheets, usual_size or SIZE)
    packs: dict[str, list[LotStock]] = {}
    for name, lot in sorted(lots.items()):
        row = _lot(name, lot, taken.get(name, _Sum()), today)
        packs.setdefault(sheets.id_of(lot.ingredient), []).append(row)
    written = {*packs, *(use.ingredient for use in used if use.of_batch)} - {""}
    known = [only] if only else sorted({*written, *needs}, key=sheets.name_of)
    return Stock(
        today=today.isoformat(),
        asked=sheets.name_of(only) if only else "",
        ingredients=tuple(
            _row(
                sheets.name_of(id_),
                tuple(packs.get(id_, ())),
                _premixes(id_, used, bulks),
                sum((use.mass or Fraction() for use in used if _nameless(use, id_)), Fraction()),
                tuple(needs.get(id_, ())),
                wanted.get(id_),
            )
            for id_ in known
        ),
        bulks=() if only else tuple(bulks.values()),
        unwritten=() if only else tuple(sorted(sheets.name_of(i) for i in wanted.keys() - written)),
    )


def _nameless(use: Use, id_: str) -> bool:
    return use.ingredient == id_ and not use.lot and not use.of_batch


# Lots ---------------------------------------------------------------------------------------------


def _taken(batches: Mapping[str, Batch], used: Iterable[Use]) -> dict[str, _Sum]:
    """What was weighed of each lot, by its name."""
    found: dict[str, _Sum] = {}
    for use in used:
        if use.lot:
            found.setdefault(use.lot, _Sum()).add(use.mass, batches[use.batch].short)
    return found


def _lot(name: str, lot: Lot, taken: _Sum, today: date) -> LotStock:
    size = lot.size.exact("g") if lot.size else None
    days = (day_of(lot.expires) - today).days if lot.expires else None
    open_days = (today - day_of(lot.opened)).days if lot.opened else None
    return LotStock(
        name=name,
        lot=lot.lot or "",
        size=size,
        used=taken.mass,
        left=None if size is None else size - taken.mass,
        unread=taken.unread,
        expires=lot.expires,
        days=days,
        expiring=days is not None and 0 <= days <= SOON,
        opened=lot.opened,
        open_days=open_days,
        opened_long=open_days is not None and open_days >= LONG_OPEN,
        used_up=lot.used_up,
        batches=tuple(taken.batches),
    )


# Batches that others are made from ----------------------------------------------------------------


def mass_made(batch: Batch) -> Fraction | None:
    """What a batch yielded, else all that went into it, in g; None where a mass is missing.

    A batch from which portions were split keeps what it was before the split.
    """
    now = standing(batch)
    if now.yield_ is not None:
        return now.yield_.exact("g")
    held = [entry for entry in entries(batch)[0] if entry.counts]
    masses = [entry.mass for entry in held]
    masses += [p.mass.exact("g") if p.mass else None for p in batch.from_ if p.how in MATERIAL]
    apart = any(parent.how == "split" for parent in batch.from_)
    weighed = {entry.now.line for entry in held}
    if not apart and any(line.id not in weighed for line in batch.lines):
        return None
    known = [mass for mass in masses if mass is not None]
    return sum(known, Fraction()) if known and len(known) == len(masses) else None


def _bulks(batches: Mapping[str, Batch], used: Iterable[Use]) -> dict[str, BulkStock]:
    """Every batch that another was made from, by its full id, in the order of making."""
    taken: dict[str, _Sum] = {}
    for use in used:
        if use.of_batch:
            taken.setdefault(use.of_batch, _Sum()).add(use.mass, batches[use.batch].short)
    for batch in batches.values():
        for parent in batch.from_:
            if parent.how in MATERIAL:
                mass = parent.mass.exact("g") if parent.mass else None
                taken.setdefault(parent.batch, _Sum()).add(mass, batch.short)
    order = sorted(
        (batches[id_] for id_ in taken if id_ in batches), key=lambda b: (in_order(b.made), b.id)
    )
    return {batch.id: _bulk(batch, taken[batch.id]) for batch in order}


def _bulk(batch: Batch, taken: _Sum) -> BulkStock:
    made = mass_made(batch)
    return BulkStock(
        id=batch.id,
        short=batch.short,
        of=batch.formula.name,
        made=made,
        used=taken.mass,
        left=None if made is None else made - taken.mass,
        unread=taken.unread,
        into=tuple(taken.batches),
    )


def _premixes(
    id_: str, used: Iterable[Use], bulks: Mapping[str, BulkStock]
) -> tuple[BulkStock, ...]:
    """The batches that were weighed in as an ingredient."""
    names = dict.fromkeys(u.of_batch for u in used if u.of_batch and u.ingredient == id_)
    return tuple(bulks[name] for name in bulks if name in names)


# Rows --------------------------------------------------------------------------------------------


def _row(
    name: str,
    lots: tuple[LotStock, ...],
    premixes: tuple[BulkStock, ...],
    nameless: Fraction,
    needs: tuple[Need, ...],
    wanted: tuple[Fraction, str] | None,
) -> IngredientStock:
    usable: list[LotStock | BulkStock] = [*(lot for lot in lots if lot.usable), *premixes]
    known = [one.left for one in usable if one.left is not None]
    left = sum((max(mass, Fraction()) for mass in known), Fraction())
    more = len(known) < len(usable)
    lost = any(one.unread for one in usable)
    needed = sum((one.mass or Fraction() for one in needs), wanted[0] if wanted else Fraction())
    low: bool | None = left < needed
    if low and more:
        low = None  # what the packs of unknown size hold may do
    elif not low and (lost or left - nameless < needed or any(n.mass is None for n in needs)):
        low = None
    return IngredientStock(
        name=name,
        lots=lots,
        premixes=premixes,
        left=left,
        more=more,
        nameless=nameless,
        needs=needs,
        usual=wanted[0] if wanted else None,
        usual_of=wanted[1] if wanted else "",
        low=low if lots or premixes or needs else None,
    )
