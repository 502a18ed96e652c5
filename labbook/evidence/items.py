"""Single things that differ between two batches, and when two recorded values differ at all.

Two figures differ where their difference is beyond what the digits typed, and the instruments,
allow. A value that only one batch has recorded is unknown for the other: not equal, not nought.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from fractions import Fraction
from typing import Any, Literal

from labbook.evidence.lines import half_unit
from labbook.model.quantities import Quantity

Part = Literal[
    "lines", "lots", "equipment", "steps", "readings", "deviations", "size", "room", "session"
]
Word = Literal["changed", "moved", "follows", "unknown"]
NONE_WRITTEN = "none written"
_BASE = {"temperature": "°C", "mass": "g", "volume": "ml", "time": "s", "length": "mm"}


@dataclass(frozen=True, slots=True, kw_only=True)
class Item:
    """One thing that differs, or that one batch alone has recorded.

    `a` and `b` are the texts of the two batches, None where nothing is recorded; `unit` stands once
    for both. `missing` is the batch that lacks an unknown value. `key` names the thing without
    words for people: its part, then what tells it apart. The values are exact where the
    thing is a figure, in percent or the base unit (°C, g, s); `beyond` is by how much they have to
    differ to count.
    """

    part: Part
    what: str
    a: str | None
    b: str | None
    unit: str = ""
    word: Word = "changed"
    missing: str = ""
    key: tuple[str, ...] = ()
    a_value: Fraction | None = None
    b_value: Fraction | None = None
    beyond: Fraction | None = None

    def to_plain(self) -> dict[str, Any]:
        """As JSON data; figures are text."""
        return {
            "part": self.part,
            "what": self.what,
            "from": self.a,
            "to": self.b,
            "unit": self.unit,
            "word": self.word,
            "missing": self.missing or None,
        }


@dataclass(slots=True)
class Findings:
    """What was found so far while two batches are compared."""

    a_id: str
    b_id: str
    items: list[Item] = field(default_factory=list)
    unrecorded: list[Item] = field(default_factory=list)
    same: Counter[Part] = field(default_factory=Counter)

    def add(self, item: Item) -> None:
        """Something that differs."""
        self.items.append(item)

    def unknown(
        self, part: Part, what: str, a: str | None, b: str | None, key: tuple[str, ...]
    ) -> None:
        """Something that one of the two has not recorded: the one whose text is None."""
        lacking = self.a_id if a is None else self.b_id
        self.unrecorded.append(
            Item(part=part, what=what, a=a, b=b, word="unknown", missing=lacking, key=(part, *key))
        )

    def texts(
        self, part: Part, what: str, sides: Sequence[str | None], *key: str, same: bool = False
    ) -> None:
        """Two values in words; `same` says that they mean the same however they are written."""
        a, b = sides
        if a is None and b is None:
            return
        if a is None or b is None:
            self.unknown(part, what, a, b, key)
        elif same or a.split() == b.split():
            self.same[part] += 1
        else:
            self.add(Item(part=part, what=what, a=a, b=b, key=(part, *key)))

    def quantities(
        self,
        part: Part,
        what: str,
        sides: Sequence[Quantity | None],
        *key: str,
        resolution: Mapping[str, Fraction] | None = None,
    ) -> None:
        """Two figures with units.

        `resolution` gives, by batch id, what the instrument can tell apart, in the base unit.
        """
        a, b = sides
        alike = a and b and (a.dimension == b.dimension if a.dimension else a.unit == b.unit)
        if a is None or b is None or not alike:
            self.texts(part, what, (_text(a), _text(b)), *key)
            return
        unit = _BASE.get(a.dimension, a.unit)
        told = resolution or {}
        beyond = max(spread(a, unit), told.get(self.a_id, Fraction()))
        beyond += max(spread(b, unit), told.get(self.b_id, Fraction()))
        first, second = a.exact(unit), b.exact(unit)
        if abs(first - second) <= beyond:
            self.same[part] += 1
            return
        one_unit = a.unit == b.unit
        self.add(
            Item(
                part=part,
                what=what,
                a=f"{a.value:f}" if one_unit else str(a),
                b=f"{b.value:f}" if one_unit else str(b),
                unit=a.unit if one_unit else "",
                key=(part, *key),
                a_value=first,
                b_value=second,
                beyond=beyond,
            )
        )


def _text(quantity: Quantity | None) -> str | None:
    return None if quantity is None else str(quantity)


def spread(quantity: Quantity, unit: str) -> Fraction:
    """Half a unit of the last digit typed, in another unit."""
    half = half_unit(quantity.value)
    if {quantity.unit, unit} == {"°C", "°F"}:
        return half * Fraction(5, 9) if unit == "°C" else half * Fraction(9, 5)
    nought = Quantity(quantity.value * 0, quantity.unit)
    step = Quantity(quantity.value * 0 + 1, quantity.unit)
    return half * (step.exact(unit) - nought.exact(unit))
