"""How alike two ingredients are, by their sheets: what a swap keeps, what it changes.

A sheet tells what an ingredient is, not how it will do in a formula; that only a batch tells.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from decimal import Decimal

from labbook.model.materials import Ingredient, Value

_WORDS = (("soluble_in", "soluble in"), ("physical", "physical"), ("charge", "charge"))
_FIGURES = (
    ("melting_point", "melting point"),
    ("density", "density"),
    ("HLB", "HLB"),
    ("required_HLB", "required HLB"),
    ("active_content", "active content"),
    ("water_content", "water content"),
    ("pH_window", "pH window"),
    ("usual_use", "usual use"),
    ("highest_temperature", "highest temperature"),
)
_NEAR = Decimal("0.05")
"""Figures within 5 % of each other are taken as alike: common practice, no source."""


@dataclass(frozen=True, slots=True)
class Trait:
    """One property of two ingredients, in words; empty where a sheet doesn't say it."""

    what: str
    first: str
    second: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Likeness:
    """Two ingredients side by side: what is alike, what differs, what one sheet doesn't say."""

    first: str
    second: str
    shared: tuple[str, ...]
    alike: tuple[Trait, ...]
    differs: tuple[Trait, ...]
    unknown: tuple[Trait, ...]


def likeness(first: str, a: Ingredient, second: str, b: Ingredient) -> Likeness:
    """Compares two sheets; turning the two round swaps the sides and nothing else."""
    alike: list[Trait] = []
    differs: list[Trait] = []
    unknown: list[Trait] = []
    for field, word in _WORDS:
        mine, other = getattr(a, field), getattr(b, field)
        if mine is None and other is None:
            continue
        trait = Trait(word, mine or "", other or "")
        (unknown if not (mine and other) else alike if mine == other else differs).append(trait)
    for field, word in _FIGURES:
        one, two = getattr(a, field), getattr(b, field)
        if one is None and two is None:
            continue
        trait = Trait(word, figure(one), figure(two))
        same = one is not None and two is not None and _overlap(one, two)
        (unknown if one is None or two is None else alike if same else differs).append(trait)
    return Likeness(
        first=first,
        second=second,
        shared=tuple(f for f in a.functions if f in b.functions),
        alike=tuple(alike),
        differs=tuple(differs),
        unknown=tuple(unknown),
    )


def figure(value: Value | None) -> str:
    """A figure of a sheet without its source: `62 to 64 °C`."""
    if value is None:
        return ""
    if value.value is not None:
        told = f"{value.value:f}"
    elif value.from_ is not None and value.to is not None:
        told = f"{value.from_:f} to {value.to:f}"
    elif value.from_ is not None:
        told = f"from {value.from_:f}"
    else:
        told = f"to {value.to:f}" if value.to is not None else "?"
    return f"{told} {value.unit}" if value.unit else told


def _ends(value: Value) -> tuple[Decimal, Decimal]:
    low = value.value if value.value is not None else value.from_
    high = value.value if value.value is not None else value.to
    least, most = Decimal("-Infinity"), Decimal("Infinity")
    ends = (least if low is None else low, most if high is None else high)
    return min(ends), max(ends)


def _overlap(a: Value, b: Value) -> bool:
    """Whether two figures or ranges meet, a little apart allowed."""
    if (a.unit or "") != (b.unit or ""):
        return False
    (low, high), (other_low, other_high) = _ends(a), _ends(b)
    gap = max(low, other_low) - min(high, other_high)
    if gap <= 0:
        return True
    size = min(abs(x) for x in (low, high, other_low, other_high) if x.is_finite())
    return gap <= _NEAR * size


def candidates(
    name: str, sheet: Ingredient, others: Mapping[str, Ingredient]
) -> tuple[Likeness, ...]:
    """Ingredients that do the same and dissolve in the same, the most alike first.

    Left out is what shares no function, dissolves in another phase, or carries another charge.
    """
    found = []
    for other, its in others.items():
        if its.id == sheet.id:
            continue
        seen = likeness(name, sheet, other, its)
        bars = {trait.what for trait in seen.differs} & {"soluble in", "charge"}
        if seen.shared and not bars:
            found.append(seen)
    found.sort(key=lambda one: (len(one.differs) - len(one.alike), -len(one.shared), one.second))
    return tuple(found)
