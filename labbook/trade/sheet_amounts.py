"""Reading an amount as makers type it: `4,5 %`, `½ oz`, `0.5-1`, `q.s. to 100`.

Nothing is guessed. A figure that can be read in two ways (`1,000`) is read only where the same
table proves which sign is the decimal one, or the person says so; volumes, spoons and drops are no
weights and are refused with a way on.
"""

from __future__ import annotations

import re
import unicodedata
from collections.abc import Iterable
from dataclasses import dataclass
from decimal import Decimal
from fractions import Fraction
from typing import Literal

from labbook.model.grid import Cell
from labbook.model.quantities import QuantityError, parse_quantity

Sign = Literal["", "point", "comma"]
LONGEST = 20
PARTS = "parts"

_UNITS = {
    "%": "%", "% w/w": "%", "%w/w": "%", "% (w/w)": "%", "wt%": "%", "wt %": "%", "percent": "%",
    "parts": PARTS, "part": PARTS, "pts": PARTS, "gramm": "g", "grammes": "g", "gms": "g",
    "gm": "g",
}  # fmt: skip
_MASSES = ("g", "kg", "mg", "oz", "lb")
_NUMBER = r"(?:[0-9]+(?:[ .,'’][0-9]+)*|[.,][0-9]+)"
_PLAIN = re.compile(rf"({_NUMBER})\s*(.*)", re.DOTALL)
_BROKEN = re.compile(r"(?:([0-9]{1,9})\s+)?([0-9]{1,9})\s*[/⁄]\s*([1-9][0-9]{0,8})\s*([^0-9/⁄].*)?")
_RANGE = re.compile(rf"({_NUMBER})\s*[^0-9.,\s-]*\s*(?:-|to|bis|…|\.\.\.)\s*({_NUMBER})\s*(.*)")
_ABOUT = re.compile(r"^(?:~|≈|ca\.?|circa|about|approx\.?|roughly|±)\s*", re.IGNORECASE)
_BOUND = re.compile(
    r"^(?:<=?|>=?|≤|≥|max\.?|min\.?|at most|at least|under|over)\s*(?=[0-9.,])", re.IGNORECASE
)
_NO_FIGURE = re.compile(r"^(?:a pinch|trace|traces|optional|as needed|tbd|\?+|x|n/?a|-+)$")
_QS = re.compile(r"^(?:q\.?\s?s\.?|quantum satis|balance|the rest|rest|remainder)\s*")
_TO = re.compile(rf"^(?:to|ad|up to|make up to|fill up to|fill to|add to|bis|auf)\s*({_NUMBER}.*)$")
_TO_PH = re.compile(r"^(?:to|for|until|ad)?\s*(ph\b.*)$")


@dataclass(frozen=True, slots=True, kw_only=True)
class Amount:
    """What a cell says of an amount.

    `value` with its `unit` (empty where none stands there; percent, a mass, or parts). `qs` fills
    up, to the value if there is one. `low` and `high` are a range, of which none is chosen; one of
    them is None for `<` and `>`. `adjust` is what is aimed for instead of an amount. `typed` holds
    the digits. `said` is what was assumed, `unclear` why the cell can't be read at all.
    """

    value: Fraction | None = None
    typed: Decimal | None = None
    unit: str = ""
    qs: bool = False
    low: Decimal | None = None
    high: Decimal | None = None
    adjust: str = ""
    said: str = ""
    unclear: str = ""

    @property
    def open(self) -> bool:
        """Whether the maker has to choose: a range, or a bound, or words instead of a figure."""
        return self.low is not None or self.high is not None


def normal(text: str) -> str:
    """Text with its digits, fractions, dashes and spaces in one spelling: `１½` is `1 1⁄2`."""
    wide = "".join(
        f" {unicodedata.normalize('NFKC', c)}" if unicodedata.numeric(c, 0) % 1 else c for c in text
    )
    plain = unicodedata.normalize("NFKC", wide)
    return re.sub(r"[\u2010-\u2015\u2212]", "-", " ".join(plain.split()))


# Points and commas --------------------------------------------------------------------------------


def readings(token: str) -> tuple[tuple[Decimal, Sign], ...]:
    """What digits with points, commas, spaces or apostrophes can mean, each with the decimal sign.

    The sign is empty where the figure needs none. No reading: it is no figure.
    """
    digits = re.sub(r"(?<=[0-9])[ '’](?=[0-9]{3}(?![0-9]))", "", token)
    if len(digits) > LONGEST or re.search(r"[ '’]", digits):
        return ()
    if digits.isdigit():
        return ((Decimal(digits), ""),)
    found: list[tuple[Decimal, Sign]] = []
    signs: tuple[tuple[Sign, str, str], ...] = (("point", ".", ","), ("comma", ",", "."))
    for sign, decimal, thousands in signs:
        whole = rf"(?:[0-9]*|[1-9][0-9]{{0,2}}(?:{re.escape(thousands)}[0-9]{{3}})+)"
        if re.fullmatch(rf"{whole}(?:{re.escape(decimal)}[0-9]+)?", digits):
            found.append((Decimal(digits.replace(thousands, "").replace(decimal, ".")), sign))
    return tuple(found)


def decimal_sign(cells: Iterable[tuple[int, Cell]]) -> tuple[Sign, str]:
    """The decimal sign that a table proves, with the figure and row that prove it.

    Figures such as 0.5 or 1,000.5 can be read in one way only. Empty where none or both are proved.
    """
    proofs: dict[Sign, str] = {}
    for row, cell in cells:
        if cell.kind != "text":
            continue
        for token in re.findall(_NUMBER, normal(cell.text)):
            found = readings(token)
            if len(found) == 1 and found[0][1]:
                proofs.setdefault(found[0][1], f"{token} in row {row}")
    if len(proofs) != 1:
        return "", ""
    ((sign, proof),) = proofs.items()
    return sign, proof


def _number(token: str, sign: Sign, kind: str) -> tuple[Decimal | None, str]:
    """The figure, or None and why it can't be told."""
    if kind == "number":
        return Decimal(token), ""
    found = readings(token)
    if len(found) == 1:
        return found[0][0], ""
    if not found:
        if re.search(r"[.,]{2}|[.,][0-9]+[.,]", token):
            return None, f"{token} has more points or commas than a figure has"
        return None, f"{token} is no figure"
    for value, its in found:
        if its == sign:
            return value, ""
    both = " or ".join(sorted({f"{value:f}" for value, _ in found}, key=len))
    return None, f"{token} can be read as {both}: say --decimal point or --decimal comma"


# A whole cell -------------------------------------------------------------------------------------


def amount_of(cell: Cell, sign: Sign = "") -> Amount:
    """What a cell says of an amount; `sign` is the table's decimal sign, where it is known."""
    text = normal(cell.text)
    if cell.kind == "date":
        return Amount(
            unclear=f"{text} is a date; a spreadsheet may have made one of a range such as 1-2"
        )
    if cell.kind == "formula":
        return Amount(
            unclear=f"the formula {text} has no result in the file: open and save it in the "
            "program that made it"
        )
    if cell.kind == "error" or text.startswith("#"):
        return Amount(unclear=f"{text} is an error of the spreadsheet")
    if not text:
        return Amount()
    low = text.casefold()
    filling = _filling(low, sign)
    if filling:
        return filling
    about = _ABOUT.match(text)
    if about:
        if about.end() == len(text):
            return Amount(unclear=f"{text} is no amount")
        inner = amount_of(Cell(text[about.end() :], cell.kind), sign)
        said = f"{text} read as the figure alone" if inner.value is not None else inner.said
        return Amount(
            value=inner.value, typed=inner.typed, unit=inner.unit, low=inner.low, high=inner.high,
            said=said, unclear=inner.unclear,
        )  # fmt: skip
    return _bounded(text, sign) or _broken(text, low) or _plain(text, sign, cell.kind)


def _filling(low: str, sign: Sign) -> Amount | None:
    """`q.s.`, `q.s. to 100`, `to 500 g`, `q.s. to pH 5`."""
    filled = _QS.match(low)
    rest = low[filled.end() :].strip(" ()") if filled else low
    if aimed := _TO_PH.match(rest):
        return Amount(adjust=f"pH {aimed[1].removeprefix('ph').strip()}".strip())
    if to := _TO.match(rest):
        inner = _plain(to[1], sign, "text")
        return Amount(value=inner.value, unit=inner.unit, qs=True, unclear=inner.unclear)
    if filled is None:
        return None
    if rest:
        return Amount(qs=True, said=f"q.s. counts, not the {rest} beside it")
    return Amount(qs=True)


def _bounded(text: str, sign: Sign) -> Amount | None:
    """`<0.5`, `0.5-1`, `optional`."""
    if _NO_FIGURE.match(text.casefold()):
        return Amount(low=Decimal(0), said=f"{text!r} is no amount")
    if bound := _BOUND.match(text):
        inner = _plain(text[bound.end() :], sign, "text")
        upper = bound[0].strip().casefold()[:2] in ("<", "<=", "≤", "ma", "at", "un")
        upper = upper and not bound[0].casefold().startswith("at least")
        return Amount(
            low=None if upper else inner.typed,
            high=inner.typed if upper else None,
            unit=inner.unit,
            said=f"{text} is a bound",
            unclear=inner.unclear,
        )
    span = _RANGE.fullmatch(text)
    if span is None:
        return None
    (low, one), (high, two) = (_number(span[n], sign, "text") for n in (1, 2))
    unit, three = _unit(span[3].strip())
    why = one or two or three
    if why:
        return Amount(unclear=why)
    return Amount(low=low, high=high, unit=unit, said=f"{text} is a range")


def _broken(text: str, low: str) -> Amount | None:
    """`½`, `1 1/2 oz`: written as a fraction."""
    found = _BROKEN.fullmatch(text.strip())
    if found is None or re.match(r"\s*[wv]/[wv]", low):
        return None
    value = int(found[1] or 0) + Fraction(int(found[2]), int(found[3]))
    unit, why = _unit((found[4] or "").strip())
    return Amount(unclear=why) if why else Amount(value=value, unit=unit)


def _plain(text: str, sign: Sign, kind: str) -> Amount:
    found = _PLAIN.fullmatch(text)
    if found is None:
        sentence = "is below zero" if re.match(r"-\s*[0-9]", text) else "is no amount"
        return Amount(unclear=f"{text} {sentence}")
    token, rest = found[1], found[2].strip()
    if rest[:1] in (".", ","):
        return Amount(unclear=f"{text} has more points or commas than a figure has")
    value, why = _number(token, sign, kind)
    unit, no_unit = _unit(rest)
    if value is None or no_unit:
        return Amount(unclear=why or no_unit)
    said = f"{token} read as {value:f}" if kind == "text" and len(readings(token)) > 1 else ""
    return Amount(value=Fraction(value), typed=value, unit=unit, said=said)


def _unit(text: str) -> tuple[str, str]:
    """A unit in the program's spelling, or why there is none."""
    spelled = text.strip(" ().").strip() or ""
    if not spelled:
        return "", ""
    known = _UNITS.get(spelled.casefold())
    if known:
        return known, ""
    try:
        unit = parse_quantity(f"1 {spelled}").unit
    except QuantityError:
        try:
            unit = parse_quantity(f"1 {spelled.casefold()}").unit
        except QuantityError as error:
            return "", str(error).removeprefix(f"1 {spelled.casefold()}: ")
    if unit in _MASSES:
        return unit, ""
    if unit in ("ml", "l"):
        return "", f"{spelled} is a volume: weigh it, or multiply it by the density"
    return "", f"{spelled} is no weight"


def unit_of(text: str) -> str:
    """The unit that words name (`%`, a mass, parts); empty for any other text."""
    return _unit(text)[0] if text else ""
