"""A maker's table as a formula in percent by weight, with all that was assumed on the way.

Masses and parts are divided by their sum; percents stay as typed. What was added on top of 100
makes all shares smaller: 20 on top of 100 are 20 / 120. Nothing is chosen for the maker: a range
leaves its line open, and a figure that can be read in two ways stops the import.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from decimal import Decimal
from fractions import Fraction
from typing import Literal

from labbook.model.formula import EMULSIONS
from labbook.model.grid import Cell, Grid
from labbook.model.materials import FUNCTIONS
from labbook.model.results.importing import Named, SheetLine, SheetRead, Told
from labbook.trade.sheet_amounts import Amount, Sign, amount_of, decimal_sign, normal
from labbook.trade.sheet_columns import Columns, columns_of
from labbook.trade.sheet_percents import Share
from labbook.trade.sheet_rows import Row, names_phase, phase_of, rows_of
from labbook.trade.sheet_shares import shares

Namer = Callable[[str, str], Named]
"""Says which ingredient a name, or the INCI name beside it, means."""

_EMULSION_WORDS = {
    "w/o": "water-in-oil", "o/w": "oil-in-water", "water in oil": "water-in-oil",
    "oil in water": "oil-in-water",
    **{word: word for word in EMULSIONS},
}  # fmt: skip
MOST_LINES = 200
LETTERS = "ABCDEFGHIJKLMNOPQRSTUVWXYZ"


@dataclass(frozen=True, slots=True)
class Wish:
    """What a person says about a table: its decimal sign; parts; which end of a range counts."""

    decimal: Sign = ""
    parts: bool = False
    range: Literal["", "low", "middle", "high"] = ""


def read_sheet(grid: Grid, name: Namer, wish: Wish | None = None) -> SheetRead:
    """The formula that a table holds."""
    wish = wish or Wish()
    columns = columns_of(grid.rows)
    told = [Told(text=text) for text in (*grid.said, *columns.said)]
    rows = rows_of(grid.rows, columns, lambda text: bool(name(text, "").known))
    if columns.unclear or not any(row.kind == "line" for row in rows):
        return _nothing(grid, columns, told)
    sign, saying = _sign(rows, columns, wish)
    told += saying
    phased, phases, assumed = _phased(rows)
    told += assumed
    items = [
        (row, letter, _chosen(amount_of(row.amount, sign), wish))
        for row, letter in phased
        if row.kind == "line"
    ]
    unclear = [Told(row=row.number, text=why) for row, _, a in items if (why := _why_open(row, a))]
    told += [Told(row=row.number, text=a.said) for row, _, a in items if a.said and not a.open]
    found = shares(rows, [(row, amount) for row, _, amount in items], columns, sign, wish.parts)
    told += found.told
    unclear += found.unclear
    lines = [
        _line(row, letter, amount, share, name, columns)
        for (row, letter, amount), share in zip(items, found.shares, strict=True)
    ]
    told += [Told(row=one.row, text=one.named.said) for one in lines if one.named.said]
    if columns.unread:
        told.append(Told(text=f"not read: {', '.join(columns.unread)}"))
    unclear += _too_much(lines)
    title, emulsion, kept = _around(grid, columns, rows)
    return SheetRead(
        file=grid.file,
        sheet=grid.sheet,
        title=title,
        emulsion=emulsion,
        phases=tuple(
            (letter, phases[letter]) for letter in dict.fromkeys(p for _, p in phased if p)
        ),
        lines=tuple(lines),
        in_file=found.in_file,
        total=_total(lines),
        size=found.size,
        assumed=tuple(told),
        unclear=tuple(unclear),
        kept=kept,
    )


def _nothing(grid: Grid, columns: Columns, told: list[Told]) -> SheetRead:
    """The reading of a table without amounts, with the reason."""
    why = columns.unclear or "no row is an ingredient with an amount"
    if columns.unclear and "volume" in columns.of:
        why = (
            "the amounts are volumes; spoons and cups of solids are no amounts: weigh them, and "
            "write grams"
        )
    return SheetRead(
        file=grid.file,
        sheet=grid.sheet,
        title="",
        emulsion="",
        phases=(),
        lines=(),
        in_file="",
        total=None,
        assumed=tuple(told),
        unclear=(Told(text=why),),
    )


def _sign(rows: Sequence[Row], columns: Columns, wish: Wish) -> tuple[Sign, list[Told]]:
    """The decimal sign: as the person says, else as the table proves."""
    if wish.decimal:
        return wish.decimal, [Told(text=f"the decimal sign is the {wish.decimal}, as you say")]
    beside = columns.of.get("mass")
    cells = [(row.number, row.amount) for row in rows]
    if beside is not None and beside != columns.amount:
        cells += [(row.number, row.cells["mass"]) for row in rows if "mass" in row.cells]
    sign, proof = decimal_sign(cells)
    texts = [normal(cell.text) for _, cell in cells if cell.kind == "text"]
    worth_saying = sign == "comma" or any(
        amount_of(Cell(text)).unclear and not amount_of(Cell(text), sign).unclear for text in texts
    )
    if sign and worth_saying:
        return sign, [Told(text=f"the decimal sign is the {sign}, because of {proof}")]
    return sign, []


def _chosen(amount: Amount, wish: Wish) -> Amount:
    """A range as the end of it that the person asked for, where it has that end."""
    ends = {"low": amount.low, "high": amount.high}
    if amount.low is not None and amount.high is not None:
        ends["middle"] = (amount.low + amount.high) / 2
    value = ends.get(wish.range)
    if not amount.open or value is None:
        return amount
    said = f"{amount.said}; {value:f} taken, the {wish.range}, as you say"
    return Amount(value=Fraction(value), typed=value, unit=amount.unit, said=said)


def _why_open(row: Row, amount: Amount) -> str:
    """Why a line has no amount that can be written; empty where it has one."""
    if amount.unclear:
        return amount.unclear
    if amount.open:
        return f"{amount.said}: write one figure, or say --range low, middle or high"
    if amount.value is None and not amount.qs and not amount.adjust:
        return f"no amount stands beside {row.text('name') or row.text('inci')}"
    return ""


# Phases -------------------------------------------------------------------------------------------


def _phased(
    rows: Sequence[Row],
) -> tuple[list[tuple[Row, str]], dict[str, str], list[Told]]:
    """Each row with the letter of its phase, the phases' names, and what was assumed."""
    names: dict[str, str] = {}
    by_name: dict[str, str] = {}
    told: list[Told] = []
    found: list[tuple[Row, str]] = []
    now, filled_down = "", 0
    for row in rows:
        if row.phase and row.kind in ("line", "heading"):
            now = _letter(row, names, by_name, told)
        elif row.kind == "line" and now and "phase" in row.cells:
            filled_down += 1
        if row.kind == "line" and not now:
            now = "A"
            names.setdefault(now, "")
            told.append(Told(row=row.number, text="no phase stands there; taken as phase A"))
        found.append((row, now if row.kind == "line" else ""))
    if filled_down:
        told.append(Told(text="an empty or merged phase cell goes on with the phase above it"))
    return found, names, told


def _letter(row: Row, names: dict[str, str], by_name: dict[str, str], told: list[Told]) -> str:
    """The letter of a phase; one that is only named takes the next free letter."""
    letter, name = phase_of(row.phase) or ("", normal(row.phase).lower())
    if letter:
        names[letter] = names.get(letter) or name
        return letter
    if name not in by_name:
        free = next((one for one in LETTERS if one not in names), f"Z{len(names)}")
        by_name[name], names[free] = free, name
        told.append(Told(row=row.number, text=f"{row.phase!r} is phase {free}"))
    return by_name[name]


# Lines --------------------------------------------------------------------------------------------


def _line(
    row: Row, letter: str, amount: Amount, share: Share, name: Namer, columns: Columns
) -> SheetLine:
    written = row.text("name") or row.text("inci")
    named = name(written, row.text("inci"))
    role = row.text("role").casefold()
    unit = amount.unit or columns.unit
    shown = row.amount.text
    if unit and not amount.unit and amount.value is not None and not amount.qs:
        shown += f" {unit}"
    return SheetLine(
        row=row.number,
        phase=letter,
        written=written,
        named=named,
        amount=shown,
        percent=share.percent,
        qs=amount.qs,
        adjust=amount.adjust,
        role=role if role in FUNCTIONS else "",
        note=_note(row, share, amount),
        on_top=share.on_top,
    )


def _note(row: Row, share: Share, amount: Amount) -> str:
    """The file's own note, and its words where it left the amount to the maker."""
    chosen = "as you say" in amount.said and share.percent is not None
    left = f"the sheet says {row.amount.text}" if chosen else ""
    return "; ".join(part for part in (left, row.text("note")) if part)


def _total(lines: Sequence[SheetLine]) -> Decimal | None:
    known = [line.percent for line in lines if line.percent is not None]
    if any(line.qs for line in lines) or len(known) < len(lines) or not lines:
        return None
    return sum(known, Decimal(0))


def _too_much(lines: Sequence[SheetLine]) -> list[Told]:
    """Why what was read is no formula at all."""
    nameless = [
        Told(row=line.row, text=f"{line.written!r} can't be a name") if line.written
        else Told(row=line.row, text="an amount without an ingredient")
        for line in lines
        if not line.named.ingredient
    ]  # fmt: skip
    if len(lines) > MOST_LINES:
        return [Told(text=f"{len(lines)} lines are more than a formula has")]
    return nameless


def _around(grid: Grid, columns: Columns, rows: Sequence[Row]) -> tuple[str, str, tuple[str, ...]]:
    """Title and emulsion type above the head, and the remarks that are kept as notes."""
    above = [
        normal(cell.text)
        for row in grid.rows[: max(columns.head, 0)]
        for cell in row
        if cell.text and cell.kind == "text" and not names_phase(cell.text)
    ]
    words = {word: _EMULSION_WORDS.get(word.casefold().strip(" .")) for word in above}
    emulsion = next((kind for kind in words.values() if kind), "")
    title = next((word for word, kind in words.items() if not kind and word[0].isalpha()), "")
    rest = [word for word in above if word != title and not words[word]]
    remarks = [
        " ".join(normal(cell.text) for cell in grid.rows[row.number - 1] if cell.text)
        for row in rows
        if row.kind == "remark"
    ]
    return title[:100], emulsion, (*rest, *remarks)
