"""The amounts of one batch in one pass over its weighings.

They are those of `evidence.made`, which compares two batches at leisure; here hundreds are read for
one question. A test holds the two to the same figures.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from fractions import Fraction
from functools import cache

from labbook.evidence.items import spread
from labbook.evidence.lines import Slot, slots_of
from labbook.evidence.made import Amount
from labbook.model.batch import Batch, BatchLine
from labbook.model.materials import Equipment
from labbook.model.sheets import Sheets
from labbook.trade.balance import Balance, balance_of
from labbook.trade.composition import ResolvedLine
from labbook.trade.weighing import Entry, entries


@dataclass(frozen=True, slots=True)
class Scale:
    """What the balance said of a batch: lines for matching, amounts, and the mass of all in g.

    `total` is None where a line or an addition has no mass.
    """

    slots: tuple[Slot, ...]
    amounts: dict[str, dict[str, Amount]]
    total: Fraction | None


def as_weighed(batch: Batch, sheets: Sheets, equipment: Mapping[str, Equipment]) -> Scale:
    """The lines and amounts of a batch, additions that no line foresaw included."""
    by_line: dict[str, list[Entry]] = {line.id: [] for line in batch.lines}
    extra: list[Entry] = []
    for entry in entries(batch)[0]:
        if entry.counts:
            by_line.get(entry.now.line or "", extra).append(entry)
    total = _total([*by_line.values(), *([one] for one in extra)])
    frame = _Frame(batch, total, _balance(batch, equipment))
    single: list[tuple[str, str, Amount]] = [
        (line.sheet, line.phase, frame.amount(by_line[line.id], line)) for line in batch.lines
    ]
    for entry in extra:
        name = sheets.id_of(entry.now.ingredient or entry.now.id)
        single.append((name, entry.now.phase or "", frame.amount([entry], None)))
    amounts: dict[str, dict[str, Amount]] = {}
    for sheet, phase, amount in single:
        held = amounts.setdefault(sheet, {})
        held[phase] = total_of(held[phase], amount) if phase in held else amount
    return Scale(slots_of(_resolved(batch, extra, sheets)), amounts, total)


def _mass(own: Sequence[Entry]) -> Fraction | None:
    masses = [entry.mass for entry in own]
    known = [mass for mass in masses if mass is not None]
    return sum(known, Fraction()) if own and len(known) == len(masses) else None


def _total(groups: Sequence[Sequence[Entry]]) -> Fraction | None:
    masses = [_mass(group) for group in groups]
    known = [mass for mass in masses if mass is not None]
    return sum(known, Fraction()) if len(known) == len(masses) and any(known) else None


def _balance(batch: Batch, equipment: Mapping[str, Equipment]) -> Balance | None:
    tool = equipment.get(batch.tools.balance or "") if batch.tools else None
    return balance_of(tool) if tool else None


@cache
def _tared_variance(balance: Balance) -> Fraction:
    return 2 * Fraction(balance.reading) ** 2


class _Frame:
    """What the masses of a batch are percents of, and how sure one reading is."""

    def __init__(self, batch: Batch, total: Fraction | None, balance: Balance | None) -> None:
        self.meant = batch.size.exact("g")
        size = total or self.meant
        self.share = 100 / size if size else None
        self.own = 100 / self.meant if self.meant else None
        self.square = self.share * self.share if self.share else Fraction()
        self.tared = _tared_variance(balance) if balance else None

    def amount(self, own: Sequence[Entry], line: BatchLine | None) -> Amount:
        """The amount of a line; a tared line has two readings of its own."""
        mass, typed = _mass(own), line.percent if line else None
        if self.tared is not None:
            variance = len(own) * self.tared
        else:
            halves = [spread(entry.now.mass, "g") for entry in own]
            variance = sum((2 * half * half / 3 for half in halves), Fraction())
        return Amount(
            percent=None if mass is None or self.share is None else mass * self.share,
            planned=None if typed is None else Fraction(typed),
            typed=typed,
            variance=variance * self.square,
            lots=frozenset(name for e in own if (name := e.now.lot or e.now.batch)),
            own=None if mass is None or self.own is None else mass * self.own,
        )


def _resolved(batch: Batch, extra: Sequence[Entry], sheets: Sheets) -> list[ResolvedLine]:
    """The lines as they were resolved, then the additions."""
    found = [
        ResolvedLine(
            index=index,
            phase=line.phase,
            ingredient=line.ingredient,
            sheet=line.sheet,
            percent=None if line.percent is None else Fraction(line.percent),
            typed=line.percent,
            qs=bool(line.qs),
            role=line.role,
            functions=sheet.functions if (sheet := sheets.find(line.sheet)) else (),
        )
        for index, line in enumerate(batch.lines)
    ]
    for entry in extra:
        name = entry.now.ingredient or entry.now.id
        known = sheets.find(name)
        found.append(
            ResolvedLine(
                index=len(found),
                phase=entry.now.phase or "",
                ingredient=name,
                sheet=sheets.id_of(name),
                percent=None,
                functions=known.functions if known else (),
            )
        )
    return found


def total_of(one: Amount, other: Amount) -> Amount:
    """Two amounts of one ingredient as one; where only one was weighed, the plan of the other."""
    known = one.percent is not None and other.percent is not None
    planned = one.planned is not None and other.planned is not None
    typed = one.typed + other.typed if one.typed and other.typed else None
    both = one.value is not None and other.value is not None
    whole = (one.value or Fraction()) + (other.value or Fraction())
    return Amount(
        whole if known or (both and not planned) else None,
        (one.planned or Fraction()) + (other.planned or Fraction()) if planned else None,
        typed,
        one.variance + other.variance,
        one.lots | other.lots,
        one.own + other.own if one.own is not None and other.own is not None else None,
    )
