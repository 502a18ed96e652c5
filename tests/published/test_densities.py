"""Densities, volumes and shares by volume against printed values; the source beside each check."""

from __future__ import annotations

from decimal import Decimal
from fractions import Fraction

import pytest

from labbook.model.materials import Ingredient, Value
from labbook.model.quantities import parse_quantity
from labbook.model.sheets import Sheets
from labbook.trade.between import Between, share_of
from labbook.trade.composition import resolve
from labbook.trade.volume import density, phase_volumes, water_density
from tests.published.agreement import holds, refused
from tests.published.test_starter_values import sheet_of
from tests.trade.making import formula, line

# IAPWS-95 by the Python library iapws 1.5.5 at 101 325 Pa; CIPM by Tanaka et al., Metrologia 38,
# 301 (2001), coefficients from memory.
WATER = [
    (4, "999.9749", "999.9749"),
    (15, "999.1026", "999.1026"),
    (20, "998.2072", "998.2067"),
    (25, "997.0476", "997.0470"),
    (40, "992.2164", "992.2152"),
]
# IAPWS-95 by iapws 1.5.5; the Python library CoolProp 8.0.0 agrees
HOT_WATER = [(50, "988.0350"), (60, "983.1958"), (80, "971.7904")]


@pytest.mark.parametrize(("celsius", "iapws", "cipm"), WATER)
def test_density_of_water(celsius: int, iapws: str, cipm: str) -> None:
    found = water_density(Fraction(celsius))
    assert found is not None
    # The formula is of 1975 and on the temperature scale of 1968: 0.005 kg/m3 apart at most.
    holds(found * 1000, iapws, "0.005")
    holds(found * 1000, cipm, "0.005")


@pytest.mark.parametrize(("celsius", "iapws"), HOT_WATER)
def test_density_of_hot_water(celsius: int, iapws: str) -> None:
    found = water_density(Fraction(celsius))
    assert found is not None
    holds(found * 1000, iapws, "0.02")
    refused(lambda: (water_density(Fraction(20)) or 0) * 1000, iapws, "0.02")


def test_the_formula_of_kell_and_its_misprint() -> None:
    # J Res NIST 97:335 (1992) eq. 1 with the corrected coefficient, from memory: 998.2041 at 20 °C.
    # With two digits swapped, as pmc.ncbi.nlm.nih.gov/articles/PMC4909168 stores it, 997.9355.
    found = water_density(Fraction(20))
    assert found is not None
    holds(found * 1000, "998.2041", "0.0001")
    swapped = found * (1 + Fraction("16.879850e-3") * 20) / (1 + Fraction("16.897850e-3") * 20)
    holds(swapped * 1000, "997.9355", "0.0001")
    refused(lambda: swapped * 1000, "998.2041", "0.0001")


def test_water_by_its_sheet_at_other_temperatures() -> None:
    sheet = sheet_of("water")
    hot = density(sheet, Fraction(60))
    assert hot is not None
    holds(hot.least * 1000, "983.1958", "0.02")  # IAPWS-95, iapws 1.5.5
    # engineeringtoolbox.com/volumetric-temperature-expansion-d_315.html: 0.000522 per °C at 60 °C
    warmer = density(sheet, Fraction(61))
    assert warmer is not None
    holds(hot.least / warmer.least - 1, "0.000522", "0.000005")
    assert density(sheet, Fraction(101)) is None


def oil(figure: str, at: str = "20 °C", growth: str = "0.0007") -> Ingredient:
    return Ingredient(
        id="oil",
        soluble_in="oil",
        physical="liquid",
        density=Value(value=Decimal(figure), unit="g/ml", at=parse_quantity(at)),
        expansion=Value(value=Decimal(growth), unit="per °C"),
    )


def test_oil_grows_by_its_expansion() -> None:
    # engineeringtoolbox.com/volumetric-temperature-expansion-d_315.html: 100 l of oil at
    # 0.00070 per °C grow by 1.4 l from 20 to 40 °C.
    cold, warm = density(oil("0.915")), density(oil("0.915"), Fraction(40))
    assert cold is not None and warm is not None
    holds((cold.least / warm.least - 1) * 100, "1.4", "0.0001")
    refused(lambda: (1 - cold.least / warm.least) * 100, "1.4", "0.0001")


def test_glycerin_gets_lighter_by_its_expansion() -> None:
    # Textbook problem, sarthaks.com/5388: 5e-4 per °C and 40 °C more: 0.02 of its density.
    sheet = oil("1.261", growth="0.0005")
    cold, warm = density(sheet), density(sheet, Fraction(60))
    assert cold is not None and warm is not None
    holds((cold.least - warm.least) / warm.least, "0.02", "0.0001")


def test_oil_in_water_by_volume() -> None:
    # 25 g oil of 0.915 with 75 g water of 0.9982: 0.26667 of the volume is oil, the mixture
    # weighs 0.97601 g/ml; by definition, additive volumes.
    volumes = [Between.exactly(Fraction(25) / Fraction("0.915"))]
    volumes.append(Between.exactly(Fraction(75) / Fraction("0.9982")))
    share = share_of(*volumes)
    assert share is not None and share.exact
    holds(share.least / 100, "0.26667", "0.00001")
    refused(lambda: 0.25, "0.26667", "0.00001")
    holds(100 / (volumes[0].least + volumes[1].least), "0.97601", "0.00001")


def test_the_same_as_a_formula() -> None:
    sheets = Sheets({"oil": oil("0.915"), "water": sheet_of("water")})
    lines = {"A": [line("oil", "25")], "B": [line("water", "qs")]}
    first, second = phase_volumes(resolve(formula(**lines), sheets), sheets)
    assert first.share is not None and second.share is not None
    assert first.share.least + second.share.most == 100
    holds(first.share.least / 100, "0.26667", "0.00001")
    assert first.guessed == second.guessed == ()


# Codex CXS 210-1999, 2022 amendment (scribd.com/document/696376798/Cxs-210e-Vegetable-Oils):
# sunflower 0.916-0.923 at 20 °C; coconut 0.908-0.921 at 40 °C (values repeated at
# wap.21food.com/amp/products/coconut-oil-800352.html); cottonseed 0.918-0.926, CXS 210 Table 2,
# from memory.
@pytest.mark.parametrize(
    ("name", "celsius", "low", "high"),
    [
        ("sunflower-oil", 20, "0.916", "0.923"),
        ("coconut-oil", 40, "0.908", "0.921"),
        ("cottonseed-oil", 20, "0.918", "0.926"),
    ],
)
def test_density_of_an_oil_is_a_range(name: str, celsius: int, low: str, high: str) -> None:
    found = density(sheet_of(name), Fraction(celsius))
    assert found is not None
    holds(found.least, low, "0.0001")
    holds(found.most, high, "0.0001")


@pytest.mark.parametrize("drop", [20, 4])
def test_close_packing(drop: int) -> None:
    # Equal spheres, pi/(3 sqrt 2) = 0.74048: a phase of 74.05 % by volume is at the limit.
    share = share_of(
        Between.exactly(Fraction("0.74048") * drop), Between.exactly(drop * Fraction("0.25952"))
    )
    assert share is not None
    holds(share.least / 100, "0.74048", "0.00001")
