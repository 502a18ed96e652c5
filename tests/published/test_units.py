"""Units against published values.

Sources: the definitions of the international yard and pound (1959) as carried by pint 0.25.3, a
units library, and rounded at fourmilab.ch/hackdiet/e4/units.html; temperature: NIST Special
Publication 811 (2008), appendix B.8 (from memory): t/°C = (t/°F − 32) / 1.8.
"""

from __future__ import annotations

from decimal import Decimal
from fractions import Fraction

import pytest

from labbook.model.quantities import Quantity, QuantityError, parse_quantity

EXACT = [
    ("1 oz", "g", "28.349523125"),
    ("1 lb", "g", "453.59237"),
    ("1 lb", "oz", "16"),
    ("1 lb", "mg", "453592.37"),
    ("1 kg", "g", "1000"),
    ("1 l", "ml", "1000"),
    ("1 cm", "mm", "10"),
    ("1 mm", "µm", "1000"),
]
GRAIN_MG = Fraction("64.79891")  # pint 0.25.3
GRAINS_IN_POUND = 7000  # the avoirdupois pound, by definition (1959 agreement; from memory)


@pytest.mark.parametrize(("typed", "unit", "expected"), EXACT)
def test_conversions_are_exact(typed: str, unit: str, expected: str) -> None:
    assert parse_quantity(typed).exact(unit) == Fraction(expected)


@pytest.mark.parametrize(("typed", "unit", "expected"), EXACT)
def test_and_back_again(typed: str, unit: str, expected: str) -> None:
    typed_quantity = parse_quantity(typed)
    there = Quantity(Decimal(expected), unit)
    assert there.exact(typed_quantity.unit) == Fraction(typed_quantity.value)


def test_the_pound_agrees_with_the_grain() -> None:
    assert parse_quantity("1 lb").exact("mg") == GRAINS_IN_POUND * GRAIN_MG


@pytest.mark.parametrize(
    ("celsius", "fahrenheit"),
    [("-40", "-40"), ("0", "32"), ("37", "98.6"), ("100", "212"), ("72", "161.6")],
)
def test_temperatures(celsius: str, fahrenheit: str) -> None:
    assert parse_quantity(f"{fahrenheit} °F").exact("°C") == Fraction(celsius)
    assert parse_quantity(f"{celsius} °C").exact("°F") == Fraction(fahrenheit)


# 1 US fl oz is 29.5735295625 ml, an imperial one 28.4130625 ml; a US cup is 236.5882365 ml, one on
# a food label 240 ml (pint 0.25.3; 21 CFR 101.9(b)(5)(viii)). So the words alone say too little.
@pytest.mark.parametrize("typed", ["1 fl oz", "2 fl. oz.", "1 cup", "0.5 cups"])
def test_measures_that_differ_by_country_are_refused(typed: str) -> None:
    with pytest.raises(QuantityError, match="differ by country; write ml, or better grams"):
        parse_quantity(typed)


@pytest.mark.parametrize("typed", ["1 tsp", "2 tbsp", "3 teaspoons"])
def test_spoons_are_refused(typed: str) -> None:
    with pytest.raises(QuantityError, match="a spoon of what"):
        parse_quantity(typed)
