"""Quantities as a maker types them: `72 °C`, `10 min`, `100g`, `400 rpm`.

The digits stay as typed (`Decimal` keeps 0.50 apart from 0.5 when shown); conversions are exact.
Units of mass: the avoirdupois ounce and pound by definition (international yard and pound
agreement of 1959: 1 lb = 0.45359237 kg).
"""

from __future__ import annotations

import re
from dataclasses import dataclass
from decimal import Decimal
from fractions import Fraction

NUMBER = re.compile(r"[0-9]+(?:\.[0-9]+)?", re.ASCII)
SIGNED = re.compile(r"-?[0-9]+(?:\.[0-9]+)?", re.ASCII)
_QUANTITY = re.compile(r"(-?[0-9]+(?:\.[0-9]+)?)\s*((?:(?<=\s)1/)?[^\s0-9.,].*)?", re.ASCII)
LONGEST_NUMBER = 20  # digits; nothing on a bench has more, and longer ones are slips or attacks

SPELLINGS = {
    "°C": ("°C", "C", "degC", "deg C", "° C", "℃"),
    "°F": ("°F", "F", "degF", "deg F", "° F", "℉"),
    "g": ("g", "gram", "grams"),
    "kg": ("kg",),
    "mg": ("mg",),
    "oz": ("oz", "ounce", "ounces"),
    "lb": ("lb", "lbs", "pound", "pounds"),
    "ml": ("ml", "mL", "cm3", "cm³"),
    "l": ("l", "L"),
    "s": ("s", "sec", "second", "seconds"),
    "min": ("min", "minute", "minutes"),
    "h": ("h", "hour", "hours"),
    "d": ("d", "day", "days"),
    "wk": ("wk", "week", "weeks"),
    "months": ("months", "month"),
    "years": ("years", "year"),
    "rpm": ("rpm", "1/min", "/min"),
    "%": ("%",),
    "mm": ("mm",),
    "cm": ("cm",),
    "g/ml": ("g/ml", "g/mL", "g/cm3", "g/cm³"),
    "g/mol": ("g/mol",),
    "mPa s": ("mPa s", "mPa.s", "mPa·s", "cP"),
    "g/min": ("g/min",),
    "µm": ("µm", "um", "μm"),
    "cycles": ("cycles", "cycle"),
    "mS/cm": ("mS/cm",),
}
_UNIT_OF = {spelling: unit for unit, spellings in SPELLINGS.items() for spelling in spellings}

DIMENSIONS = {
    "temperature": ("°C", "°F"),
    "mass": ("g", "kg", "mg", "oz", "lb"),
    "volume": ("ml", "l"),
    "time": ("s", "min", "h", "d", "wk", "months", "years"),
    "speed": ("rpm",),
    "length": ("mm", "cm", "µm"),
    "percent": ("%",),
}
BASE_UNITS = {"temperature": "°C", "mass": "g", "volume": "ml", "time": "s", "length": "mm"}
# Seconds per unit; a month of a protocol is 30 days and a year 365, as stability plans count.
_FACTORS = {
    "g": Fraction(1),
    "kg": Fraction(1000),
    "mg": Fraction(1, 1000),
    "oz": Fraction("28.349523125"),
    "lb": Fraction("453.59237"),
    "ml": Fraction(1),
    "l": Fraction(1000),
    "s": Fraction(1),
    "min": Fraction(60),
    "h": Fraction(3600),
    "d": Fraction(86400),
    "wk": Fraction(7 * 86400),
    "months": Fraction(30 * 86400),
    "years": Fraction(365 * 86400),
    "mm": Fraction(1),
    "cm": Fraction(10),
    "µm": Fraction(1, 1000),
    "rpm": Fraction(1),
    "%": Fraction(1),
}


class QuantityError(ValueError):
    """Text that is no quantity; the message says why, in the maker's words."""


def parse_number(text: str, *, signed: bool = False) -> Decimal:
    """A plain decimal number with the digits typed.

    Raises:
        QuantityError: anything else, with its own sentence for the decimal comma.
    """
    pattern = SIGNED if signed else NUMBER
    if len(text) > LONGEST_NUMBER:
        raise QuantityError(f"{text[:24]} has more digits than any bench needs")
    if pattern.fullmatch(text):
        return Decimal(text)
    if re.fullmatch(r"-?[0-9]+,[0-9]+", text, re.ASCII):
        dotted = text.replace(",", ".")
        raise QuantityError(f"{text} has a decimal comma; files take a point: {dotted}")
    if text.startswith("-") and not signed:
        raise QuantityError(f"{text} is below zero")
    raise QuantityError(f"{text!r} is not a number")


def in_digits(text: str) -> int | None:
    """A count in plain digits, nine at most; None for anything else.

    `str.isdigit` takes ² and ٣ for digits too, and `int` refuses more than 4300 of them.
    """
    return int(text) if re.fullmatch(r"[0-9]{1,9}", text, re.ASCII) else None


@dataclass(frozen=True, slots=True)
class Quantity:
    """A value with its unit, the unit in the one spelling that the program uses."""

    value: Decimal
    unit: str

    def __str__(self) -> str:
        return f"{self.value:f}{'' if self.unit == '%' else ' '}{self.unit}".strip()

    @property
    def dimension(self) -> str:
        """`mass`, `temperature`, `time` …; empty for a unit that stands alone."""
        for name, units in DIMENSIONS.items():
            if self.unit in units:
                return name
        return ""

    @property
    def base(self) -> tuple[Fraction, str]:
        """The value in the base unit of its dimension, exactly: 60 min and 1 h are the same."""
        unit = BASE_UNITS.get(self.dimension, self.unit)
        return self.exact(unit), unit

    def exact(self, unit: str) -> Fraction:
        """The value in another unit of the same dimension, exactly.

        Raises:
            QuantityError: the units measure different things.
        """
        if unit == self.unit:
            return Fraction(self.value)
        if {unit, self.unit} == {"°C", "°F"}:
            if unit == "°C":
                return (Fraction(self.value) - 32) * Fraction(5, 9)
            return Fraction(self.value) * Fraction(9, 5) + 32
        other = Quantity(Decimal(0), unit)
        if not self.dimension or self.dimension != other.dimension:
            raise QuantityError(f"{self} can't be given in {unit}")
        return Fraction(self.value) * _FACTORS[self.unit] / _FACTORS[unit]


def parse_quantity(text: str, dimension: str = "", *, default: str = "") -> Quantity:
    """`100 g`, `100g`, `72 °C`, `72 C`, `10 min` as a quantity.

    Args:
        text: as typed.
        dimension: what it has to measure; empty takes any known unit.
        default: the unit that a bare number has; empty refuses a bare number.

    Raises:
        QuantityError: no number, no unit, an unknown unit, or the wrong dimension.
    """
    wanted = DIMENSIONS.get(dimension, ())
    example = f"{wanted[0]}" if wanted else "a unit"
    match = _QUANTITY.fullmatch(text.strip())
    if not match:
        raise QuantityError(_why_no_quantity(text, example))
    value = parse_number(match[1], signed=True)
    spelled = (match[2] or "").strip() or default
    if not spelled:
        raise QuantityError(f"{text} has no unit; write it with one: {text} {example}")
    unit = _UNIT_OF.get(spelled)
    if unit is None:
        raise QuantityError(_why_no_unit(text, spelled, wanted))
    found = Quantity(value, unit)
    if wanted and unit not in wanted:
        raise QuantityError(f"{text} is no {dimension}; use {' or '.join(wanted)}")
    if value < 0 and found.dimension != "temperature":
        raise QuantityError(f"{text} is below zero")
    return found


def _why_no_quantity(text: str, example: str) -> str:
    if re.match(r"-?[0-9]+,[0-9]+", text, re.ASCII):
        dotted = re.sub(r"^(-?[0-9]+),([0-9]+)", r"\1.\2", text)
        return f"{text} has a decimal comma; files take a point: {dotted}"
    return f"{text!r} is not a number with {example}"


def _why_no_unit(text: str, spelled: str, wanted: tuple[str, ...]) -> str:
    folded = spelled.lower()
    if "drop" in folded:
        return f"{text}: drops differ by bottle and liquid; weigh them and write grams"
    if any(word in folded for word in ("tsp", "tbsp", "spoon")):
        return f"{text}: a spoon of what? weigh one and write grams"
    if "fl" in folded or "cup" in folded:
        return f"{text}: fluid ounces and cups differ by country; write ml, or better grams"
    known = ", ".join(wanted) if wanted else "g, °C, min, ml …"
    return f"{text}: {spelled!r} is no unit known here; use {known}"
