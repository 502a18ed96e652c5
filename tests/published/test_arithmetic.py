"""The sums of the bench against worked examples.

Unless a source stands beside one, it is common practice, no source: makers' formulas in percent,
parts, ounces and cups, added up again by hand.
"""

from decimal import Decimal
from fractions import Fraction

import pytest

from labbook.model.materials import Ingredient
from labbook.model.quantities import parse_quantity
from labbook.model.sheets import Sheets
from labbook.trade.actual import actual_composition
from labbook.trade.composition import resolve
from labbook.trade.scaling import largest_batch, targets
from tests.trade.making import batch, composed, formula, grams, line, sheets, value, weighing


def percents(masses: list[str], places: str = "0.01") -> list[str]:
    """The percents of masses as weighed, rounded like the worked example."""
    lines: dict[str, str | None] = {f"l{n}": None for n in range(len(masses))}
    made = batch(lines, tuple(weighing(f"w{n}", f"l{n}", m) for n, m in enumerate(masses)))
    found = [line.percent for line in actual_composition(made, Sheets()).lines]
    return [str((Decimal(x.numerator) / x.denominator).quantize(Decimal(places))) for x in found]


def test_water_and_salt_of_a_water_in_oil_cream() -> None:
    # 53.85 % oil phase and 8.70 % others in the water phase leave 37.45 % water and make 46.15 %
    # water phase, of which 1.00 % salt is 2.17 %.
    cream = resolve(
        formula(
            A=[line("oil-phase", "53.85")],
            B=[line("water", "qs"), line("others", "7.70"), line("salt", "1.00")],
        ),
        sheets(water=Ingredient(id="water", functions=("water",))),
    )
    assert cream.qs_percent == Fraction("37.45")
    inner = cream.phase_totals()[1].percent
    assert inner == Fraction("46.15")
    assert round(100 / inner, 2) == Fraction("2.17")


def test_a_lotion_in_ounces() -> None:
    ounces = ["114 oz", "6.75 oz", "5.15 oz", "3.30 oz", "1 oz", "1.85 oz", "0.5 oz"]
    assert percents(ounces) == ["86.01", "5.09", "3.89", "2.49", "0.75", "1.40", "0.38"]


def test_a_balm_weighed_by_the_cup() -> None:
    assert percents(["44", "54", "18"], "0.1") == ["37.9", "46.6", "15.5"]


def test_flakes_on_top_of_100_parts() -> None:
    # 70, 10, 10, 8, 1, 1 parts, and 20 parts of flakes that nobody counted.
    found = percents(["70", "10", "10", "8", "1", "1", "20"])
    assert (found[6], found[3], found[5]) == ("16.67", "6.67", "0.83")


def test_the_salt_in_the_flakes() -> None:
    # 16.67 % flakes of 46.8 % magnesium chloride are 7.8 % of it in the cream.
    flakes = Ingredient(id="magnesium-chloride-flakes", active_content=value("46.8"))
    lines = [line("magnesium-chloride-flakes", active="7.8"), line("base", "qs")]
    cream = resolve(formula(A=lines), sheets(magnesium_chloride_flakes=flakes))
    assert cream.lines[0].percent == Fraction(100, 6)


@pytest.mark.parametrize(("citrate", "total"), [("0.22", "99.02"), ("1.20", "100.00")])
def test_a_formula_that_was_printed_as_100(citrate: str, total: str) -> None:
    cream = composed(all_others="98.80", citrate=citrate)
    assert cream.total == Fraction(total)
    assert cream.complete is (total == "100.00")


def test_two_percent_of_the_finished_batch_is_more_than_two_percent_of_the_base() -> None:
    # 10 kg of base take 204.08 g (10 000 ÷ 0.98 − 10 000), not 200 g, which would be 1.96 %.
    cream = composed(base="98", addition="2")
    found = largest_batch(cream, {"base": parse_quantity("10 kg")}, Decimal("0.01"))
    assert str(found.size) == "10204.08"
    made = targets(cream, grams(str(found.size)), Decimal("0.01"))
    assert [str(target.mass) for target in made] == ["10000.00", "204.08"]
    assert percents(["10 kg", "200 g"])[1] == "1.96"


@pytest.mark.parametrize(
    ("mass", "exact"),
    [("1 oz", "28.349523125"), ("1 lb", "453.59237"), ("16 oz", "453.59237"), ("1 kg", "1000")],
)
def test_ounces_and_pounds_are_exact(mass: str, exact: str) -> None:
    # International yard and pound agreement of 1959, from memory; the same figures as the PyPI
    # package pint 0.25.3 gives.
    made = batch({"l1": None}, (weighing("w1", "l1", mass),))
    assert actual_composition(made, Sheets()).put_in == Fraction(exact)
