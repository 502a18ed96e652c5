"""Which column of a maker's table is what: by its head, else by what stands in it."""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from typing import Literal

from labbook.model.grid import Cell
from labbook.trade.sheet_amounts import PARTS, amount_of, normal, unit_of

Role = Literal["phase", "name", "inci", "percent", "mass", "amount", "volume", "role", "note"]
HEADS_WITHIN = 20
"""Rows in which a head is looked for."""

_ENOUGH = 0.6
_HEADS: dict[Role, frozenset[str]] = {
    "phase": frozenset({"phase", "ph", "part", "stage", "group", "phases"}),
    "name": frozenset({
        "ingredient", "ingredients", "material", "materials", "raw material", "raw materials",
        "component", "components", "substance", "item", "name", "ingredient name", "trade name",
        "common name", "what", "product", "zutat", "zutaten", "rohstoff", "rohstoffe",
        "inhaltsstoff", "inhaltsstoffe", "ingrédient", "ingrédients", "matière première",
        "ingrediente", "ingredientes", "ingredienti",
    }),
    "inci": frozenset({"inci", "inci name", "inci-name", "label name"}),
    "percent": frozenset({
        "%", "percent", "percentage", "pct", "% w/w", "w/w %", "%w/w", "% wt", "wt %", "wt%",
        "% by weight", "weight %", "weight percent", "mass %", "w/w", "amount %", "formula %",
        "% in formula", "% of formula", "prozent", "anteil", "anteil %", "gew.-%", "gew-%",
        "pourcentage", "percentuale", "porcentaje", "% (w/w)", "percent by weight",
    }),
    "amount": frozenset({
        "amount", "quantity", "qty", "weight", "mass", "parts", "parts by weight", "menge",
        "quantité", "poids", "dose", "proportion", "cantidad", "quantità", "gewicht",
    }),
    "volume": frozenset({
        "ml", "cup", "cups", "tsp", "tbsp", "teaspoons", "tablespoons", "spoons", "drops",
        "volume", "fl oz", "volumes",
    }),
    "role": frozenset({"function", "functions", "role", "purpose", "funktion"}),
    "note": frozenset({"note", "notes", "remark", "remarks", "comment", "comments"}),
}  # fmt: skip
_BESIDE_A_UNIT = frozenset({
    "weight", "amount", "mass", "quantity", "qty", "batch", "for", "in", "per", "size", "of", "a",
    "to", "make", "by", "menge", "gewicht", "poids", "total",
})  # fmt: skip
_PHASE_WORD = re.compile(r"(?:phase\s*)?[A-Za-z][0-9]?|[0-9]{1,2}|[IVX]{1,4}|phase\s+\w+", re.I)


@dataclass(frozen=True, slots=True)
class Columns:
    """The columns of a table by role; `head` is the index of the head's row, -1 without one.

    `units` has the unit that a head names for an amount. `said` is what was assumed, `unread` the
    heads that weren't used, `unclear` why there is no column of amounts.
    """

    of: dict[Role, int] = field(default_factory=dict)
    units: dict[Role, str] = field(default_factory=dict)
    head: int = -1
    said: tuple[str, ...] = ()
    unread: tuple[str, ...] = ()
    unclear: str = ""

    @property
    def amount(self) -> int | None:
        """The column that counts: percents, else masses, else amounts without a unit."""
        found = [self.of[r] for r in ("percent", "mass", "amount") if r in self.of]
        return found[0] if found else None

    @property
    def unit(self) -> str:
        """The unit of that column as its head names it; empty where it doesn't."""
        role = next((r for r in ("percent", "mass", "amount") if r in self.of), None)
        return self.units.get(role, "") if role else ""


def role_of(head: str) -> tuple[Role | None, str]:
    """What a head names, and the unit of an amount: `weight (oz)` is a mass in oz."""
    text = normal(head).casefold().strip(" :*")
    for role, words in _HEADS.items():
        if text in words:
            unit = "%" if role == "percent" else PARTS if text.startswith("parts") else ""
            return role, unit
    if re.search(r"active|cost|price|max|min|usage|recommended|v/v", text):
        return None, ""
    found = re.findall(r"[^\W\d_]+|%", text)
    units = [unit for word in found if (unit := unit_of(word))]
    rest = [word for word in found if not unit_of(word) and word not in _BESIDE_A_UNIT]
    if len(set(units)) != 1 or rest:
        if set(found) & _HEADS["volume"]:
            return "volume", ""
        return ("percent", "%") if set(units) == {"%"} and "%" in text else (None, "")
    unit = units[0]
    return ("percent" if unit == "%" else "amount" if unit == PARTS else "mass"), unit


def columns_of(rows: Sequence[Sequence[Cell]]) -> Columns:
    """The columns of a table."""
    head, found = _head(rows)
    said: list[str] = []
    below = rows[head + 1 :]
    width = max((len(row) for row in rows), default=0)
    free = [n for n in range(width) if n not in found.of.values() and not _named(rows, head, n)]
    of, units = dict(found.of), dict(found.units)
    unclear = ""
    if not {"percent", "mass", "amount"} & set(of):
        unclear = _infer_amount(of, free, below, said)
    if "name" not in of and "inci" in of:
        of["name"] = of.pop("inci")
    if "name" not in of:
        _infer_name(of, free, below, said)
    if "phase" not in of and head < 0:
        _infer_phase(of, free, below, said)
    if head < 0 and of:
        head = _unknown_head(rows, of)
        words = "no heads above the columns"
        if head >= 0:
            heads = ", ".join(cell.text for cell in rows[head] if cell.text)
            words = f"row {head + 1} taken for heads: {heads}"
        said.insert(0, words)
    return Columns(of, units, head, tuple(said), found.unread, unclear)


def _unknown_head(rows: Sequence[Sequence[Cell]], of: Mapping[Role, int]) -> int:
    """The first row, where words stand over the amounts that are none; -1 if there is none."""
    first = next((index for index, row in enumerate(rows) if any(cell.text for cell in row)), -1)
    column = of.get("amount", -1)
    if first < 0 or column < 0 or column >= len(rows[first]):
        return -1
    cell = rows[first][column]
    words = bool(cell.text) and not any(map(str.isdigit, cell.text)) and not _is_amount(cell)
    return first if words else -1


def _named(rows: Sequence[Sequence[Cell]], head: int, column: int) -> bool:
    """Whether a head that means something else stands over the column."""
    if head < 0 or column >= len(rows[head]):
        return False
    text = rows[head][column].text
    return bool(text) and bool(
        re.search(r"supplier|price|cost|lot|date|active|max|min", text, re.I)
    )


def _head(rows: Sequence[Sequence[Cell]]) -> tuple[int, Columns]:
    """The row with the most heads: at least two, or one for names."""
    best, found = -1, Columns()
    for index, row in enumerate(rows[:HEADS_WITHIN]):
        of: dict[Role, int] = {}
        units: dict[Role, str] = {}
        unread: list[str] = []
        for column, cell in enumerate(row):
            if not cell.text or cell.kind != "text":
                continue
            role, unit = role_of(cell.text)
            if role is None or role in of:
                unread.append(cell.text)
            else:
                of[role], units[role] = column, unit
        filled = sum(bool(cell.text) for cell in row)
        enough = len(of) >= 2 or ("name" in of and filled >= 2)
        if enough and len(of) > len(found.of):
            best, found = index, Columns(of, units, index, (), tuple(unread))
    return best, found


def _share(rows: Sequence[Sequence[Cell]], column: int, what: str) -> float:
    """Which part of a column's filled cells are amounts, phase words or texts."""
    cells = [row[column] for row in rows if column < len(row) and row[column].text]
    if not cells:
        return 0.0
    if what == "amount":
        hits = sum(_is_amount(cell) for cell in cells)
    elif what == "phase":
        hits = sum(bool(_PHASE_WORD.fullmatch(cell.text.strip(" :."))) for cell in cells)
    else:
        hits = sum(len(cell.text) > 2 and not _is_amount(cell) for cell in cells)
    return hits / len(cells)


def _is_amount(cell: Cell) -> bool:
    found = amount_of(cell, "point")
    return not found.unclear and (found.value is not None or found.qs or found.open)


def _infer_amount(
    of: dict[Role, int], free: list[int], rows: Sequence[Sequence[Cell]], said: list[str]
) -> str:
    """Finds the column of amounts; returns why there is none."""
    likely = [n for n in free if _share(rows, n, "amount") >= _ENOUGH and not _counts_up(rows, n)]
    if len(likely) > 1:
        whole = [n for n in likely if _adds_to_100(rows, n)]
        likely = whole if len(whole) == 1 else likely
    if len(likely) == 1:
        of["amount"] = likely[0]
        said.append(f"column {likely[0] + 1} holds the amounts")
        return ""
    if not likely and max(map(len, rows), default=0) < 2:
        return "one column only: part names and amounts by a semicolon, a tab or a comma"
    if not likely:
        return "no column holds amounts by weight: write a head such as % or g over it"
    columns = " or ".join(str(n + 1) for n in likely)
    return f"the amounts may be column {columns}: write a head such as % or g over it"


def _counts_up(rows: Sequence[Sequence[Cell]], column: int) -> bool:
    """Whether a column only numbers the lines: 1, 2, 3."""
    texts = [row[column].text for row in rows if column < len(row) and row[column].text]
    return len(texts) > 2 and texts == [str(n) for n in range(1, len(texts) + 1)]


def _adds_to_100(rows: Sequence[Sequence[Cell]], column: int) -> bool:
    cells = [row[column] for row in rows if column < len(row)]
    total = sum(float(amount_of(cell, "point").value or 0) for cell in cells)
    return abs(total - 100) < 2 or abs(total - 200) < 2  # with its own total line


def _infer_name(
    of: dict[Role, int], free: list[int], rows: Sequence[Sequence[Cell]], said: list[str]
) -> None:
    texts = [n for n in free if n not in of.values() and _share(rows, n, "text") >= _ENOUGH]
    if texts:
        of["name"] = texts[0]
        said.append(f"column {texts[0] + 1} holds the ingredients")


def _infer_phase(
    of: dict[Role, int], free: list[int], rows: Sequence[Sequence[Cell]], said: list[str]
) -> None:
    left = [n for n in free if n not in of.values() and n < of.get("name", 0)]
    likely = [n for n in left if _share(rows, n, "phase") >= _ENOUGH and not _counts_up(rows, n)]
    if likely:
        of["phase"] = likely[0]
        said.append(f"column {likely[0] + 1} holds the phases")
