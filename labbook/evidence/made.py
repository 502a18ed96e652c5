"""What a batch was really made of: the amount of each ingredient in each phase, with its lots."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from decimal import Decimal
from fractions import Fraction

from labbook.evidence.items import spread
from labbook.evidence.lines import Slot, slots_of
from labbook.model.batch import Batch, BatchLine
from labbook.model.materials import Equipment
from labbook.model.sheets import Sheets
from labbook.trade.balance import Balance, balance_of, line_uncertainty, rectangular
from labbook.trade.composition import ResolvedLine
from labbook.trade.exact import to_places
from labbook.trade.weighing import Entry, actual_percent, entries, weighed

COVERAGE = 2
"""How many standard uncertainties make a difference (JCGM 100:2008, 6.2 and G.6.6)."""


@dataclass(frozen=True, slots=True)
class Amount:
    """The percent of one ingredient in one phase of one batch.

    `percent` is what was weighed, None where it wasn't; `planned` what was meant, None for an
    addition that no line foresaw. `own` is the mass in percent of the size that was meant: it stays
    when only the other lines were weighed otherwise. `variance` is of the percent.
    """

    percent: Fraction | None
    planned: Fraction | None
    typed: Decimal | None
    variance: Fraction
    lots: frozenset[str] = frozenset()
    own: Fraction | None = None

    @property
    def value(self) -> Fraction | None:
        """What was weighed, else what was meant."""
        return self.planned if self.percent is None else self.percent

    def text(self, places: int) -> str | None:
        """The amount as meant where it was weighed so, else as weighed."""
        if self.value is None:
            return None
        off = None if self.planned is None else abs(self.value - self.planned)
        near = off is not None and off * off <= COVERAGE**2 * self.variance
        if self.planned is not None and self.typed is not None and (near or off == 0):
            return f"{self.typed:f}"
        return f"{to_places(self.value, places):f}"


@dataclass(frozen=True, slots=True)
class Made:
    """The lines of a batch for matching, with their amounts by phase and ingredient id."""

    slots: tuple[Slot, ...]
    amounts: Mapping[tuple[str, str], Amount]


def made_of(batch: Batch, sheets: Sheets, equipment: Mapping[str, Equipment]) -> Made:
    """What a batch was made of, additions that no line foresaw included."""
    lines = [
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
    extra = [_addition(len(lines) + n, e, sheets) for n, e in enumerate(weighed(batch).unplanned)]
    slots = slots_of([*lines, *extra])
    return Made(slots, _amounts(batch, sheets, equipment))


def _addition(index: int, entry: Entry, sheets: Sheets) -> ResolvedLine:
    name = entry.now.ingredient or entry.now.id
    sheet = sheets.find(name)
    return ResolvedLine(
        index=index,
        phase=entry.now.phase or "",
        ingredient=name,
        sheet=sheets.id_of(name),
        percent=None,
        functions=sheet.functions if sheet else (),
    )


def _amounts(
    batch: Batch, sheets: Sheets, equipment: Mapping[str, Equipment]
) -> dict[tuple[str, str], Amount]:
    actual, scale, made = actual_percent(batch), weighed(batch), entries(batch)[0]
    size = actual.total if actual.lines is not None else batch.size.exact("g")
    meant, balance = batch.size.exact("g"), _balance(batch, equipment)

    def amount(mass: Fraction | None, own: Sequence[Entry], line: BatchLine | None) -> Amount:
        typed = line.percent if line else None
        return Amount(
            percent=None if mass is None or not size else mass / size * 100,
            planned=None if typed is None else Fraction(typed),
            typed=typed,
            variance=_variance(own, balance) / size**2 * 10000 if size else Fraction(),
            lots=frozenset(name for e in own if (name := e.now.lot or e.now.batch)),
            own=None if mass is None or not meant else mass / meant * 100,
        )

    single = []
    for line in batch.lines:
        own = [e for e in made if e.counts and e.now.line == line.id]
        single.append(((line.phase, line.sheet), amount(scale.lines[line.id], own, line)))
    for entry in scale.unplanned:
        name = sheets.id_of(entry.now.ingredient or entry.now.id)
        single.append(((entry.now.phase or "", name), amount(entry.mass, [entry], None)))
    return _together(single)


def _balance(batch: Batch, equipment: Mapping[str, Equipment]) -> Balance | None:
    tool = equipment.get(batch.tools.balance or "") if batch.tools else None
    return balance_of(tool) if tool else None


def _variance(own: Sequence[Entry], balance: Balance | None) -> Fraction:
    """The variance of a line's mass in g²: by the balance, else by the digits of its masses."""
    if balance and own:
        return Fraction(line_uncertainty(balance, len(own))) ** 2
    halves = [spread(entry.now.mass, "g") for entry in own]
    return sum((2 * Fraction(rectangular(half)) ** 2 for half in halves), Fraction())


def _together(
    single: Sequence[tuple[tuple[str, str], Amount]],
) -> dict[tuple[str, str], Amount]:
    """Amounts of one ingredient in one phase as one."""
    found: dict[tuple[str, str], Amount] = {}
    for key, new in single:
        old = found.get(key)
        found[key] = new if old is None else _sum(old, new)
    return found


def _sum(one: Amount, other: Amount) -> Amount:
    both = one.percent is not None and other.percent is not None
    meant = [p for p in (one.planned, other.planned) if p is not None]
    return Amount(
        (one.percent or 0) + (other.percent or Fraction()) if both else None,
        sum(meant, Fraction()) if meant else None,
        None if one.typed is None or other.typed is None else one.typed + other.typed,
        one.variance + other.variance,
        one.lots | other.lots,
        None if one.own is None or other.own is None else one.own + other.own,
    )
