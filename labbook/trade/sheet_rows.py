"""What each row of a maker's table is: a heading, a line, a total, an addition on top, a remark."""

from __future__ import annotations

import re
from collections.abc import Callable, Sequence
from dataclasses import dataclass, field
from fractions import Fraction
from typing import Literal

from labbook.model.grid import Cell
from labbook.trade.sheet_amounts import amount_of, normal
from labbook.trade.sheet_columns import Columns, Role

Kind = Literal["heading", "line", "total", "subtotal", "on top", "remark"]

_TOTAL = re.compile(
    r"(?:grand\s+|formula\s+|batch\s+)?(?:totals?|sum|summe|gesamt|somme|totale|together|σ)\b[^a-z]*"
    r"(?:weight|percent|formula|batch|mass|w/w)?[^a-z]*"
)
_SUBTOTAL = re.compile(
    r"(?:sub-?\s?totals?\b.*|(?:totals?|sum)\s+(?:of\s+)?(?:the\s+)?(?:\w+\s+)?phase\b.*"
    r"|(?:\w+\s+)?phase\b.*\b(?:total|sum))"
)
_ON_TOP = re.compile(r".*\b(?:on top|added (?:later|after)|additions?|extras?|not counted)\b.*")
_LETTERED = re.compile(
    r"(?:phase|part|stage|group)\s*:?\s*([A-Za-z][0-9]?|[0-9]{1,2}|[IVX]{1,4})\b[\s:.)-]*(.*)", re.I
)
_BARE = re.compile(
    r"([A-Z][0-9]?|[0-9]{1,2}|[IVX]{1,4})(?:[\s:.)-]+(.*\bphase\b.*))?[\s:.)-]*", re.IGNORECASE
)
_WORDED = re.compile(r"(.*\S)\s+(?:phase|part)\s*:?|(cool[ -]?down|water|oil|heated?)\s*:?", re.I)


@dataclass(frozen=True, slots=True)
class Row:
    """A row of the table with its cells by role; `number` as a spreadsheet counts it."""

    number: int
    cells: dict[Role, Cell] = field(default_factory=dict)
    amount: Cell = field(default_factory=Cell)
    kind: Kind = "line"
    phase: str = ""

    def text(self, role: Role) -> str:
        """The text of a cell by its role."""
        cell = self.cells.get(role)
        return normal(cell.text) if cell else ""


def phase_of(text: str) -> tuple[str, str] | None:
    """The letter and the name that words give a phase: `Phase A: oils`, `Oil phase`, `B`.

    The letter is empty where only a name stands there; None where the words name no phase.
    """
    words = normal(text)
    if found := _LETTERED.fullmatch(words):
        return found[1].upper(), found[2].strip(" ()").lower()
    if found := _BARE.fullmatch(words):
        name = re.sub(r"\bphase\b", "", found[2] or "", flags=re.I).strip(" ()-").lower()
        return found[1].upper(), name
    if (found := _WORDED.fullmatch(words)) and len(words) < 40:
        return "", (found[1] or found[2]).strip(" :-").lower()
    return None


def names_phase(text: str) -> bool:
    """Whether words such as `Phase A: oils` name a phase beyond doubt."""
    return _LETTERED.fullmatch(normal(text)) is not None


def rows_of(
    grid: Sequence[Sequence[Cell]], columns: Columns, known: Callable[[str], bool]
) -> tuple[Row, ...]:
    """The rows that hold anything, each with what it is; above the head only phases count."""
    above = enumerate(grid[: max(columns.head, 0)], 1)
    found = [
        Row(number, kind="heading", phase=filled[0].text)
        for number, raw in above
        if len(filled := [cell for cell in raw if cell.text]) == 1 and names_phase(filled[0].text)
    ]
    for index in range(columns.head + 1, len(grid)):
        raw = grid[index]
        if not any(cell.text for cell in raw):
            continue
        row = _row(index + 1, raw, columns)
        kind = _kind(row, raw, columns, known)
        if kind == "line" and _totals(row, raw, columns, found, index == len(grid) - 1):
            kind = "total"
        found.append(Row(row.number, row.cells, row.amount, kind, _phase_text(row, raw, kind)))
    return tuple(found)


def _row(number: int, raw: Sequence[Cell], columns: Columns) -> Row:
    cells = {role: raw[n] for role, n in columns.of.items() if n < len(raw)}
    at = columns.amount
    return Row(number, cells, raw[at] if at is not None and at < len(raw) else Cell())


def _kind(row: Row, raw: Sequence[Cell], columns: Columns, known: Callable[[str], bool]) -> Kind:
    filled = [cell for cell in raw if cell.text]
    name = row.text("name") or row.text("inci")
    first = normal(filled[0].text)
    folded = (name or first).casefold().strip(" :=")
    if _SUBTOTAL.fullmatch(folded):
        return "subtotal"
    if _TOTAL.fullmatch(folded):
        return "total"
    if row.amount.text:
        return "line"
    if _ON_TOP.fullmatch(first.casefold()) and not known(name):
        return "on top"
    if len(filled) == 1 and phase_of(first) is not None and not known(first):
        return "heading"
    beside = {role for role, cell in row.cells.items() if cell.text} - {"name", "note", "phase"}
    return "line" if name and (known(name) or beside) and "volume" not in beside else "remark"


def _totals(
    row: Row, raw: Sequence[Cell], columns: Columns, before: Sequence[Row], last: bool
) -> bool:
    """Whether figures without a name are a total: the last row, or the sum of those above."""
    amounts = [columns.of[role] for role in ("percent", "mass", "amount") if role in columns.of]
    if any(cell.text for n, cell in enumerate(raw) if n not in amounts):
        return False
    values = [amount_of(one.amount, "point").value for one in before if one.kind == "line"]
    own = amount_of(row.amount, "point").value
    known = sum((value for value in values if value is not None), Fraction())
    return bool(values) and (last or own == known)


def _phase_text(row: Row, raw: Sequence[Cell], kind: Kind) -> str:
    if kind == "heading":
        return next(cell.text for cell in raw if cell.text)
    return row.text("phase")
