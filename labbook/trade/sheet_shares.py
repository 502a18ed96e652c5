"""From the amounts of a maker's table to percents by weight of the whole.

Percents stay as typed unless something was added on top. Masses (exact conversions of
`labbook.model.quantities`) and parts are divided by their sum; each is rounded, and the largest
takes what the rounding left, so that they still add up to 100.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from decimal import Decimal
from fractions import Fraction

from labbook.model.quantities import Quantity
from labbook.model.results.importing import Told
from labbook.trade.exact import decimal_text
from labbook.trade.sheet_amounts import PARTS, Amount, Sign, amount_of, normal
from labbook.trade.sheet_columns import Columns
from labbook.trade.sheet_percents import WHOLE, Item, Share, as_typed, of_whole
from labbook.trade.sheet_rows import Row

NEAR = Fraction(2)
CLOSE = Fraction(2, 100)
"""How far a mass may be from its percent before it is said: common practice, no source."""


@dataclass(frozen=True, slots=True)
class Shares:
    """The shares of the lines, in their order, with what was assumed and what stops it."""

    shares: tuple[Share, ...]
    in_file: str
    size: str = ""
    told: tuple[Told, ...] = ()
    unclear: tuple[Told, ...] = ()


def shares(
    rows: Sequence[Row], items: Sequence[Item], columns: Columns, sign: Sign, parts: bool
) -> Shares:
    """The share of each line in the whole."""
    unit, told, unclear = _unit(items, columns)
    if parts and unit in ("%", ""):
        unit, told = PARTS, [*told, Told(text="taken as parts by weight, as you say")]
    if unclear:
        return Shares(tuple(Share() for _ in items), "", told=tuple(told), unclear=tuple(unclear))
    values = [_in(unit, amount) for _, amount in items]
    if unit == "%" and _of_one(items, values):
        values = [None if v is None else v * 100 for v in values]
        told.append(Told(text="the figures add up to 1: read as parts of one, times 100"))
    top = _on_top(rows, items, values, unit)
    told += _totals(rows, items, values, unit, sign, top)
    base, unclear = _base(items, values, unit, rows, sign, top)
    size, more = _size(items, columns, sign, unit, values)
    told += more
    unclear += _over_the_whole(items, values, unit)
    if unclear:
        return Shares(tuple(Share() for _ in items), "", size, tuple(told), tuple(unclear))
    above = sum((v for v, t in zip(values, top, strict=True) if t and v is not None), Fraction())
    whole = base + above
    if not whole:
        nothing = Told(text="the amounts add up to nothing")
        return Shares(tuple(Share() for _ in items), "", "", tuple(told), (nothing,))
    if unit == "%" and not above:
        found = [as_typed(amount, v) for (_, amount), v in zip(items, values, strict=True)]
        told += _sum_told(items, values)
    else:
        found = of_whole(items, values, whole, top)
        told += _whole_told(unit, base, above)
    in_file = "" if unit == "%" and not above else f"{decimal_text(whole)} {unit}"
    if unit not in ("%", PARTS) and not size:
        size = f"{decimal_text(whole)} {unit}"
    return Shares(tuple(found), in_file, size, tuple(told))


# Units --------------------------------------------------------------------------------------------


def _unit(items: Sequence[Item], columns: Columns) -> tuple[str, list[Told], list[Told]]:
    """The unit in which all amounts are added up: %, parts, or the first mass there is."""
    counting = [a for _, a in items if (a.value is not None or a.open) and not a.qs]
    own = [columns.unit, *(a.unit for a in counting)]
    told: list[Told] = []
    named = [unit for unit in own if unit]
    masses = [unit for unit in named if unit not in ("%", PARTS)]
    kinds = {"mass" if unit not in ("%", PARTS) else unit for unit in named}
    if len(kinds) > 1:
        rows = ", ".join(
            str(row.number) for row, a in items if a.unit and a.unit != (columns.unit or named[0])
        )
        return "", [], [Told(text=f"percents and weights stand side by side: see row {rows}")]
    bare = [row.number for (row, a) in items if a.value is not None and not a.unit]
    if "oz" in masses:
        told.append(Told(text="oz are taken as ounces by weight, 28.349523125 g"))
    if masses:
        if bare and not columns.unit:
            text = f"no unit in row {', '.join(map(str, bare))}; taken as {masses[0]}"
            told.append(Told(text=text))
        return masses[0], told, []
    if named:
        return named[0], told, []
    values = [a.value for _, a in items if a.value is not None]
    filled = any(a.qs for _, a in items)
    total = sum(values, Fraction())
    if filled or abs(total - WHOLE) <= NEAR or abs(total - 1) <= NEAR / 100:
        return "%", [Told(text="no unit stands there; taken as percent by weight")], []
    text = f"no unit stands there and the figures add up to {decimal_text(total)}; "
    return PARTS, [Told(text=text + "taken as parts by weight")], []


def _in(unit: str, amount: Amount) -> Fraction | None:
    """An amount in the unit of the table; None for q.s., what is open, and what can't be turned."""
    return None if amount.qs else _turned(unit, amount)


def _turned(unit: str, amount: Amount) -> Fraction | None:
    bare = ("%", PARTS)
    if amount.value is None or not amount.unit or amount.unit == unit:
        return amount.value
    if unit in bare or amount.unit in bare:
        return amount.value if unit in bare and amount.unit in bare else None
    return amount.value * Quantity(Decimal(1), amount.unit).exact(unit)


def _of_one(items: Sequence[Item], values: Sequence[Fraction | None]) -> bool:
    known = [v for v in values if v is not None]
    marked = any("%" in row.amount.text for row, _ in items)
    filled = any(a.qs for _, a in items)
    return (
        len(known) > 2
        and not marked
        and not filled
        and abs(sum(known, Fraction()) - 1) <= NEAR / 100
    )


# Sums ---------------------------------------------------------------------------------------------


def _on_top(
    rows: Sequence[Row], items: Sequence[Item], values: Sequence[Fraction | None], unit: str
) -> list[bool]:
    """Which lines stand below a total, or below a heading that says so."""
    marks = [row.number for row in rows if row.kind == "on top"]
    totals = [row.number for row in rows if row.kind == "total"]
    first = min(marks, default=None)
    for number in totals:
        above = [v for (row, _), v in zip(items, values, strict=True) if row.number < number]
        if above and any(row.number > number for row, _ in items):
            first = number if first is None else min(first, number)
    return [first is not None and row.number > first for row, _ in items]


def _totals(
    rows: Sequence[Row],
    items: Sequence[Item],
    values: Sequence[Fraction | None],
    unit: str,
    sign: Sign,
    top: Sequence[bool],
) -> list[Told]:
    """Each total line of the file against the sum of the lines above it."""
    told = []
    for row in rows:
        if row.kind != "total" or not row.amount.text:
            continue
        stated = _in(unit, amount_of(row.amount, sign))
        above = [(a, v) for (r, a), v in zip(items, values, strict=True) if r.number < row.number]
        known = [v for _, v in above if v is not None]
        if stated is None or any(v is None and not a.qs for a, v in above):
            told.append(Told(row=row.number, text="its total line can't be compared"))
            continue
        if unit == "%" and len(known) > 2 and abs(stated - 1) < Fraction(1, 100) < sum(known) - 1:
            stated *= 100
        total = sum(known, Fraction())
        if any(a.qs for a, _ in above):
            text = f"its total line says {decimal_text(stated)}; q.s. fills up to it"
        elif stated == total:
            text = f"its total line, {normal(row.amount.text)}, agrees with the lines"
        else:
            text = (
                f"its total line says {normal(row.amount.text)}, but the lines add up to "
                f"{decimal_text(total)}"
            )
        told.append(Told(row=row.number, text=text))
    return told


def _base(
    items: Sequence[Item],
    values: Sequence[Fraction | None],
    unit: str,
    rows: Sequence[Row],
    sign: Sign,
    top: Sequence[bool],
) -> tuple[Fraction, list[Told]]:
    """What the lines that aren't on top add up to, q.s. filled."""
    known = [v for v, t in zip(values, top, strict=True) if v is not None and not t]
    total = sum(known, Fraction())
    filling = [(row, a) for row, a in items if a.qs]
    if not filling:
        return total, []
    if unit == "%":
        return WHOLE, []
    row, amount = filling[0]
    goal = _turned(unit, amount)
    if goal is None:
        stated = [_in(unit, amount_of(r.amount, sign)) for r in rows if r.kind == "total"]
        goal = next((one for one in stated if one), None)
    if goal is None and unit == PARTS:
        goal = WHOLE
    if goal is None:
        return total, [Told(row=row.number, text=f"q.s., but to how many {unit} stands nowhere")]
    if goal < total:
        text = f"q.s. to {decimal_text(goal)} {unit}, but the others are {decimal_text(total)}"
        return total, [Told(row=row.number, text=text)]
    return goal, []


def _size(
    items: Sequence[Item],
    columns: Columns,
    sign: Sign,
    unit: str,
    values: Sequence[Fraction | None],
) -> tuple[str, list[Told]]:
    """The batch size that a column of masses beside the percents has, each line compared."""
    if unit != "%" or "mass" not in columns.of:
        return "", []
    mass_unit = columns.units.get("mass", "g")
    found = [
        (row, v, mass)
        for (row, _), v in zip(items, values, strict=True)
        if v and "mass" in row.cells
        and (mass := amount_of(row.cells["mass"], sign).value) is not None
    ]  # fmt: skip
    if not found:
        return "", []
    ratios = sorted(mass / v for _, v, mass in found)
    size = ratios[len(ratios) // 2] * 100
    rounded = Fraction(round(size * 10), 10)
    told = [
        Told(
            row=row.number,
            text=f"{decimal_text(mass)} {mass_unit} is not {decimal_text(v)} % of "
            f"{decimal_text(rounded)} {mass_unit}; the percent was taken",
        )
        for row, v, mass in found
        if abs(mass - v * size / 100) > max(CLOSE * v * size / 100, Fraction(1, 20))
    ]
    shown = f"{decimal_text(rounded)} {mass_unit}"
    return shown, [*told, Told(text=f"the weights beside the percents are for {shown}")]


# What is said -------------------------------------------------------------------------------------


def _over_the_whole(
    items: Sequence[Item], values: Sequence[Fraction | None], unit: str
) -> list[Told]:
    """Percents above 100, which a thousands sign taken for what it isn't leads to."""
    return [
        Told(
            row=row.number,
            text=f"{normal(row.amount.text)} would be {decimal_text(v)} %, more than the whole: "
            "correct it, or say --decimal point or comma",
        )
        for (row, _), v in zip(items, values, strict=True)
        if unit == "%" and v is not None and v > WHOLE
    ]


def _sum_told(items: Sequence[Item], values: Sequence[Fraction | None]) -> list[Told]:
    known = [v for v in values if v is not None]
    if len(known) < len(values) or not values:
        return []
    total = sum(known, Fraction())
    if total == WHOLE:
        return []
    off = abs(total - WHOLE)
    way = "over" if total > WHOLE else "short of"
    return [
        Told(
            text=f"the percents add up to {decimal_text(total)}, {decimal_text(off)} {way} 100; "
            "kept as they stand. If they are parts by weight: --parts"
        )
    ]


def _whole_told(unit: str, base: Fraction, above: Fraction) -> list[Told]:
    if above:
        return [
            Told(
                text=f"{decimal_text(above)} {unit} stand on top of {decimal_text(base)}: "
                f"{decimal_text(base + above)} {unit} in all are taken as 100 %"
            )
        ]
    return [Told(text=f"{decimal_text(base)} {unit} in all are taken as 100 %")]
