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
from labbook.trade.actual import ActualComposition, actual_composition
from labbook.trade.balance import Balance, balance_of, line_uncertainty, rectangular
from labbook.trade.composition import ResolvedLine
from labbook.trade.exact import to_places
from labbook.trade.weighing import Entry, entries, weighed

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
    shift: Fraction | None = None

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
    """The lines of a batch for matching, with their amounts by phase and ingredient id.

    `went_off` is what was read to go off while heated, in percent of what went in; None where no
    vessel was weighed. `lost` is all that didn't come out, in percent of the same; None where
    neither a vessel nor what came out was weighed.
    """

    slots: tuple[Slot, ...]
    amounts: Mapping[tuple[str, str], Amount]
    went_off: Fraction | None = None
    lost: Fraction | None = None


def made_of(
    batch: Batch,
    sheets: Sheets,
    equipment: Mapping[str, Equipment],
    batches: Mapping[str, Batch] | None = None,
) -> Made:
    """What a batch was made of, with what no line foresaw and what other batches brought.

    `batches` by id are those that it may have been made from.
    """
    actual = actual_composition(batch, sheets, batches=batches, equipment=equipment)
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
    foreseen = {line.id for line in batch.lines}
    other = [one for one in actual.lines if one.key not in foreseen]
    if actual.known:
        names = [(one.phase, one.ingredient, one.sheet) for one in other]
    else:
        names = [_name_of(entry, sheets) for entry in weighed(batch).unplanned]
    extra = [_addition(len(lines) + n, *name, sheets) for n, name in enumerate(names)]
    went_off = actual.evaporated / actual.put_in * 100 if actual.vessels else None
    lost = (1 - actual.final / actual.put_in) * 100 if actual.put_in and actual.balanced else None
    amounts = _amounts(batch, actual, sheets, equipment)
    return Made(slots_of([*lines, *extra]), amounts, went_off, lost)


def _name_of(entry: Entry, sheets: Sheets) -> tuple[str, str, str]:
    """An addition that no line foresaw: phase, name, and the sheet's id."""
    name = entry.now.ingredient or entry.now.id
    return entry.now.phase or "", name, sheets.id_of(name)


def _addition(index: int, phase: str, name: str, id_: str, sheets: Sheets) -> ResolvedLine:
    sheet = sheets.find(name)
    return ResolvedLine(
        index=index,
        phase=phase,
        ingredient=name,
        sheet=id_,
        percent=None,
        functions=sheet.functions if sheet else (),
    )


def _amounts(
    batch: Batch, actual: ActualComposition, sheets: Sheets, equipment: Mapping[str, Equipment]
) -> dict[tuple[str, str], Amount]:
    scale, made = weighed(batch), entries(batch)[0]
    balance, plain = _balance(batch, equipment), _is_plain(batch, actual)
    size = actual.put_in if actual.known else batch.size.exact("g")
    meant = batch.size.exact("g")
    found = {one.key: one for one in actual.lines}

    def amount(
        mass: Fraction | None, own: Sequence[Entry], key: str, line: BatchLine | None
    ) -> Amount:
        typed, real = line.percent if line else None, found.get(key)
        percent = None if mass is None or not size else mass / size * 100
        variance = _variance(own, balance) / size**2 * 10000 if size else Fraction()
        if real is not None and not plain:  # vessels and other batches have their own say
            mass, variance = real.mass, Fraction(real.weighing) ** 2
        return Amount(
            percent=percent if real is None else real.percent,
            planned=None if typed is None else Fraction(typed),
            typed=typed,
            variance=variance,
            lots=frozenset(name for e in own if (name := e.now.lot or e.now.batch)),
            own=None if mass is None or not meant else mass / meant * 100,
            shift=real.shift if real is not None and actual.weighed_out else None,
        )

    single = []
    for line in batch.lines:
        own = [e for e in made if e.counts and e.now.line == line.id]
        key = (line.phase, line.sheet)
        single.append((key, amount(scale.lines[line.id], own, line.id, line)))
    for entry in scale.unplanned:
        phase, _, sheet = _name_of(entry, sheets)
        single.append(((phase, sheet), amount(entry.mass, [entry], entry.now.id, None)))
    known = {line.id for line in batch.lines} | {entry.now.id for entry in scale.unplanned}
    single += [
        ((one.phase, one.sheet), amount(one.mass, [], id_, None))
        for id_, one in found.items()
        if id_ not in known
    ]
    return _together(single)


def _is_plain(batch: Batch, actual: ActualComposition) -> bool:
    """Whether a batch is what was weighed, each line by itself, and nothing else went on."""
    return not (actual.vessels or batch.from_ or any(w.batch for w in batch.weighings))


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
        None if one.shift is None or other.shift is None else one.shift + other.shift,
    )
