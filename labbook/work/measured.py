"""Readings that a home bench can take, said in a phrase: `spread 41 mm under 200 g for 60 s`.

Each says how it was taken, because only what was taken alike is compared: a spread the weight and
the time, a funnel the amount, a feel score the way of rubbing. `at 20 C` and `after 24 h` hold for
any of them. Pure: text in, a reading out.
"""

from __future__ import annotations

import re
from dataclasses import dataclass
from decimal import Decimal

from labbook.model.quantities import Quantity, QuantityError, parse_quantity

_NUMBER = r"[0-9]+(?:[.,][0-9]+)?"
_HEAD = re.compile(
    rf"(spread|funnel|droplets?(?:\s+size)?|feel\s+[a-z][a-z-]*)\s*[:=]?\s+({_NUMBER})"
    r"\s*(mm|cm|sec|s|µm|μm|um|of\s+5)?(?=\s|,|$)\s*(.*)",
    re.IGNORECASE | re.DOTALL,
)
_AT = re.compile(rf"\bat\s+({_NUMBER}\s*(?:°\s*)?[CF])\b", re.IGNORECASE)
_REST = re.compile(
    rf"\b(?:after|rest(?:ed)?)\s+({_NUMBER}\s*(?:min|h|d))\b(?:\s+rest)?", re.IGNORECASE
)
_UNDER = re.compile(rf"\bunder\s+({_NUMBER}\s*k?g)\b", re.IGNORECASE)
_FOR = re.compile(rf"\bfor\s+({_NUMBER}\s*(?:s|sec|min))\b", re.IGNORECASE)
_AMOUNT = re.compile(rf"\b(?:of|for)\s+({_NUMBER}\s*ml)\b", re.IGNORECASE)
_BY = re.compile(r"\bby\s+(.+)", re.IGNORECASE | re.DOTALL)

_UNITS = {"spread": "mm", "funnel": "s", "droplet size": "µm", "feel": "of 5"}
_SPELLED = {"sec": "s", "um": "µm", "μm": "µm"}
_ALLOWED = {
    "spread": ("mm", "cm"), "funnel": ("s",), "droplet size": ("µm",), "feel": ("of 5",),
}  # fmt: skip
_ASK = {
    "spread": "Under which weight, for how long? Only like spreads are compared:"
    " spread 41 mm under 200 g for 60 s",
    "funnel": "How much ran through? Only like amounts are compared: funnel 38 s for 50 ml",
    "feel": "Rubbed in how? Only the same way is compared:"
    " feel drag 3 by a pea, 20 circles on the back of the hand",
}

_PLAIN = re.compile(
    r"([^\W\d_][^\d=]*?)\s*=?\s*(-?[0-9]+(?:[.,][0-9]+)?)(?![0-9.,])\s*(.*)", re.DOTALL
)
_UNIT = re.compile(r"(?:[^\s\d,;]\S*(?: [^\s\d]\S*)?)?")
"""A unit is a word or two: `g`, `mPa s`, `of 5`."""

_DROP = re.compile(r"(?:a\s+)?drop\s+in\s+(water|oil)\s*[:,]?\s+(spreads|stays)\b.*", re.IGNORECASE)
_OUTER = {
    ("water", "spreads"): "oil-in-water", ("oil", "stays"): "oil-in-water",
    ("oil", "spreads"): "water-in-oil", ("water", "stays"): "water-in-oil",
}  # fmt: skip


@dataclass(frozen=True, slots=True)
class Measured:
    """A reading as said, with how it was taken, and what is missing to compare it."""

    reading: str
    value: Decimal
    unit: str
    by: str = ""
    at: Quantity | None = None
    rest: Quantity | None = None
    asks: tuple[str, ...] = ()


def measured(text: str) -> Measured | None:
    """The reading that a phrase says; None where it is none of these, or can't be read whole.

    Nothing of a phrase is dropped: words that are not understood make it no reading.
    """
    match = _HEAD.fullmatch(" ".join(text.split()))
    if match is None:
        return None
    name = match[1].casefold()
    name = "droplet size" if name.startswith("droplet") else name
    kind = name.partition(" ")[0] if name.startswith("feel") else name
    unit = " ".join((match[3] or _UNITS[kind]).casefold().split())
    unit = _SPELLED.get(unit, unit)
    value = Decimal(match[2].replace(",", "."))
    if unit not in _ALLOWED[kind] or (kind == "feel" and not 0 <= value <= 5):
        return None
    tail = match[4]
    try:
        at, tail = _taken(_AT, tail, "temperature")
        rest, tail = _taken(_REST, tail, "time")
        by, tail = _way(kind, tail)
    except QuantityError:
        return None
    if tail.strip(" ,;"):
        return None
    asks = (_ASK[kind],) if kind in _ASK and not _said_whole(kind, by) else ()
    return Measured(name, value, unit, by, at, rest, asks)


def plain(text: str) -> Measured | None:
    """Any other reading: a name, a figure, its unit, and how it was taken where that is said.

    `viscosity 12000 mPa s by spindle 4, 12 rpm at 20 C`. None where a figure is missing, or more
    stands behind it than a unit, a temperature, a rest and a way.
    """
    match = _PLAIN.fullmatch(" ".join(text.split()))
    if match is None:
        return None
    try:
        at, tail = _taken(_AT, match[3], "temperature")
        rest, tail = _taken(_REST, tail, "time")
    except QuantityError:
        return None
    named = _BY.search(tail)
    by = named[1].strip(" ,;") if named else ""
    unit = (tail[: named.start()] if named else tail).strip(" ,;")
    if not _UNIT.fullmatch(unit):
        return None
    name = "pH" if match[1].casefold() == "ph" else match[1].strip()
    return Measured(name, Decimal(match[2].replace(",", ".")), unit, by, at, rest)


def _taken(pattern: re.Pattern[str], tail: str, dimension: str) -> tuple[Quantity | None, str]:
    """A quantity taken out of what follows the figure, and the rest of it."""
    found = pattern.search(tail)
    if found is None:
        return None, tail
    typed = found[1].replace(",", ".").replace("sec", "s")
    return parse_quantity(typed, dimension), tail[: found.start()] + tail[found.end() :]


def _way(kind: str, tail: str) -> tuple[str, str]:
    """How it was taken, in one form of words, and what is left of the phrase."""
    found: list[str] = []
    wanted: tuple[tuple[re.Pattern[str], str], ...] = ()
    if kind == "spread":
        wanted = ((_UNDER, "mass"), (_FOR, "time"))
    elif kind == "funnel":
        wanted = ((_AMOUNT, "volume"),)
    for pattern, dimension in wanted:
        quantity, tail = _taken(pattern, tail, dimension)
        found += [str(quantity)] if quantity is not None else []
    named = _BY.search(tail)
    if named:
        found.append(named[1].strip(" ,;"))
        tail = tail[: named.start()]
    return ", ".join(found), tail


def _said_whole(kind: str, by: str) -> bool:
    return by.count(",") >= 1 if kind == "spread" else bool(by)


def drop_test(text: str) -> tuple[str, str] | None:
    """The outer phase that a drop test shows, and the words for it; None for other phrases.

    A drop of the emulsion spreads in what is like its outer phase, and stays together in the other
    (common practice, no source). One drop is one test; two tell more.
    """
    match = _DROP.fullmatch(" ".join(text.split()))
    if match is None:
        return None
    where, did = match[1].casefold(), match[2].casefold()
    return _OUTER[where, did], f"a drop in {where} {did}"
