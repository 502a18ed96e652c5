"""Composition, additions on top, active percents and kitchen units against printed values.

"Worked by hand" is arithmetic that a maker's page prints and that was added up again: common
practice, no source.
"""

from __future__ import annotations

from decimal import Decimal
from fractions import Fraction

import pytest

from labbook.model.materials import Ingredient, Part
from labbook.model.quantities import Quantity, parse_quantity
from labbook.model.sheets import Sheets
from labbook.trade.active import as_active, as_supplied
from labbook.trade.composition import resolve
from labbook.trade.expand import expand
from labbook.trade.figures import emulsifier_to_water_phase
from labbook.trade.on_top import of_base, of_finished, parts_as_percent, per_finished
from labbook.trade.volume import internal_phase
from tests.published.agreement import holds, refused
from tests.published.test_starter_values import sheet_of
from tests.trade.making import formula, line, sheets, value

# Worked by hand: a cream of 120 parts.
CREAM = {
    "water": "70", "oil": "10", "butter": "10", "emulsifier": "8", "preservative": "1",
    "vitamin": "1", "flakes": "20",
}  # fmt: skip


@pytest.mark.parametrize(
    ("part", "percent"),
    [("flakes", "16.67"), ("emulsifier", "6.67"), ("preservative", "0.83"), ("water", "58.33")],
)
def test_parts_of_a_sheet_that_adds_up_to_120(part: str, percent: str) -> None:
    found = parts_as_percent({name: Fraction(amount) for name, amount in CREAM.items()})
    assert sum(found.values()) == 100
    holds(found[part], percent, "0.005")
    refused(lambda: Fraction(CREAM[part]), percent, "0.005")


# Worked by hand: a lotion in ounces.
@pytest.mark.parametrize(
    ("part", "percent"),
    [
        ("114", "86.01"), ("6.75", "5.09"), ("5.15", "3.89"), ("3.30", "2.49"), ("1", "0.75"),
        ("1.85", "1.40"), ("0.5", "0.38"),
    ],
)  # fmt: skip
def test_ounces_as_percents(part: str, percent: str) -> None:
    ounces = ["114", "6.75", "5.15", "3.30", "1", "1.85", "0.5"]
    holds(parts_as_percent({one: Fraction(one) for one in ounces})[part], percent, "0.005")


# Worked by hand: cups of a balm, weighed.
@pytest.mark.parametrize(("part", "percent"), [("44", "37.9"), ("54", "46.6"), ("18", "15.5")])
def test_cups_as_percents(part: str, percent: str) -> None:
    holds(
        parts_as_percent({one: Fraction(one) for one in ("44", "54", "18")})[part], percent, "0.05"
    )


def test_two_percent_of_what_comes_out() -> None:
    # Worked by hand: 10 kg of base and 2 % of the finished batch: 204.08 g, not 200 g (1.96 %).
    found = of_finished(Fraction(10_000), Fraction(2))
    holds(found.addition, "204.08", "0.005")
    holds(found.per_finished, "2", "0.0001")
    holds(found.per_base, "2.0408", "0.0001")
    refused(lambda: of_base(Fraction(10_000), Fraction(2)).addition, "204.08", "0.005")
    holds(of_base(Fraction(10_000), Fraction(2)).per_finished, "1.96", "0.005")


def test_two_grams_into_a_hundred() -> None:
    # Worked by hand: 2 g into 100 g is 1.96 %.
    holds(per_finished(Fraction(2)), "1.96", "0.001")


def test_what_is_left_after_evaporation() -> None:
    # Worked by hand: 10 g lost of 100 g, preservative 0.50 -> 0.56 %.
    found = parts_as_percent({"preservative": Fraction("0.5"), "rest": Fraction("89.5")})
    holds(found["preservative"], "0.56", "0.005")
    refused(lambda: Fraction("0.5"), "0.56", "0.005")


# Worked by hand: a 60 % sodium lactate, a 20 % lye, an 80 % acid,
# and retinol of 10 % in oil.
@pytest.mark.parametrize(
    ("active", "content", "supplied"),
    [("1.2", "60", "2"), ("0.5", "20", "2.5"), ("2", "80", "2.5"), ("0.3", "10", "3")],
)
def test_active_and_supplied_percents(active: str, content: str, supplied: str) -> None:
    holds(as_supplied(Fraction(active), Fraction(content)), supplied, "0.0001")
    holds(as_active(Fraction(supplied), Fraction(content)), active, "0.0001")
    refused(lambda: as_active(Fraction(active), Fraction(content)), supplied, "0.0001")


def test_salt_in_the_flakes_of_a_cream() -> None:
    # Worked by hand: 16.67 % flakes of 46.8 % magnesium chloride are 7.8 % of the cream.
    flakes = sheet_of("magnesium-chloride-hexahydrate")
    held = Sheets({flakes.id: flakes, "water": sheet_of("water")})
    lines = [line(flakes.id, "16.67"), line("water", "qs")]
    total = expand(resolve(formula(A=lines), held), held).totals()
    holds(total["magnesium-chloride-anhydrous"], "7.8", "0.01")
    refused(lambda: Fraction("16.67"), "7.8", "0.01")
    holds(total["water"], "92.19", "0.01")


def test_a_water_in_oil_cream() -> None:
    # Worked by hand: 53.85 % oil phase, 8.70 % others in the water phase: water q.s. 37.45 %,
    # internal phase 46.15 %, salt 1.00 % of the formula = 2.17 % of the internal phase.
    oil = Ingredient(id="oil-phase", soluble_in="oil", functions=("emulsifier",))
    held = sheets(water=Ingredient(id="water", functions=("water",)), oil_phase=oil)
    cream = resolve(
        formula(
            A=[line("oil-phase", "53.85")],
            B=[line("water", "qs"), line("others", "7.70"), line("salt", "1.00")],
        ),
        held,
    )
    inner = internal_phase("water-in-oil", cream, held)
    assert inner is not None and inner.what == "water"
    holds(cream.qs_percent, "37.45", "0.001")
    holds(inner.by_mass.least, "46.15", "0.001")
    holds(100 / inner.by_mass.most, "2.17", "0.005")
    outer = internal_phase("oil-in-water", cream, held)
    assert outer is not None
    holds(outer.by_mass.least, "53.85", "0.001")
    holds(emulsifier_to_water_phase(cream, held), "116.68", "0.01")  # 53.85 / 46.15


def test_the_paste_that_is_half_oil() -> None:
    # Worked by hand, from a foundation that split: 20 % of a paste that is half oil brings 10 %
    # of it, against 3.7 % emulsifier.
    paste = Ingredient(
        id="pigment-paste",
        contains=(
            Part(ingredient="pigment", percent=Decimal(50)),
            Part(ingredient="oil", percent=Decimal(50)),
        ),
    )
    held = sheets(pigment_paste=paste)
    lines = [
        line("pigment-paste", "20"),
        line("emulsifier", "3.7"),
        line("oil", "12"),
        line("water", "qs"),
    ]
    total = expand(resolve(formula(A=lines), held), held).totals()
    holds(total["oil"], "22", "0.001")
    holds(total["pigment"], "10", "0.001")
    holds(total["water"], "64.3", "0.001")
    refused(lambda: Fraction(12), "22", "0.001")


@pytest.mark.parametrize(("citrate", "total"), [("0.22", "99.02"), ("1.20", "100.00")])
def test_a_formula_that_was_printed_as_100(citrate: str, total: str) -> None:
    lines = [line("all-others", "98.80"), line("citrate", citrate)]
    holds(resolve(formula(A=lines), Sheets()).total, total, "0.001")


# pint 0.25.3 UnitRegistry(); rounded values also at fourmilab.ch/hackdiet/e4/units.html
@pytest.mark.parametrize(
    ("typed", "grams"),
    [
        ("1 oz", "28.349523125"),
        ("1 lb", "453.59237"),
        ("16 oz", "453.59237"),
        ("2.5 oz", "70.8738078125"),
    ],
)
def test_ounces_and_pounds(typed: str, grams: str) -> None:
    found: Quantity = parse_quantity(typed, "mass")
    holds(found.exact("g"), grams, "0.0000001")
    # A nominal ounce of 28 g (21 CFR 101.9(b)(5)(viii), ucum.org/trac/ticket/120) is 1.4 % off.
    refused(lambda: found.exact("oz") * 28, grams, "0.0000001")


def test_water_of_a_solution_and_of_a_hydrate() -> None:
    # By the labels of 60 % sodium lactate (common practice, no source) and, for the heptahydrate,
    # molmass 2026.1.8: 0.51164 of it is water.
    names = ("sodium-lactate-60-percent", "magnesium-sulfate-heptahydrate", "water")
    held = Sheets({name: sheet_of(name) for name in names})
    lines = [line("sodium-lactate-60-percent", "5"), line("magnesium-sulfate-heptahydrate", "1")]
    share = resolve(formula(A=[*lines, line("water", "qs")]), held).water()
    assert share.least == share.most
    holds(share.least, "96.51164", "0.0001")
    refused(lambda: 94, "96.51164", "0.0001")


def test_active_content_of_a_sheet_goes_both_ways() -> None:
    held = sheets(lactate=Ingredient(id="sodium-lactate-solution", active_content=value("60")))
    lines = [line("lactate", active="3"), line("water", "qs")]
    found = resolve(formula(A=lines), held).lines[0].percent
    holds(found, "5", "0.0001")  # worked by hand: 3 ÷ 0.60
