"""Weighing against published figures, and against a library that propagates uncertainties.

The source stands beside each figure. "From memory" means that nobody has looked it up for this
test; the arithmetic is checked all the same.
"""

import importlib
from decimal import Decimal
from fractions import Fraction
from itertools import pairwise
from typing import Any

import pytest

from labbook.model.quantities import parse_quantity
from labbook.trade.balance import (
    USP_FLOOR,
    Balance,
    Way,
    least_mass,
    line_uncertainty,
    mass_for,
    minimum_weight,
    percent_uncertainties,
    rectangular,
    root_sum,
    total_uncertainty,
)
from labbook.trade.exact import square_root
from labbook.trade.premix import enough_from
from labbook.trade.scaling import targets
from tests.published.agreement import holds
from tests.published.outside import Outside
from tests.trade.making import composed

uncertainties: Any = importlib.import_module("uncertainties")  # it ships no types

USP_TEXT = "USP <41> Balances, official 1 August 2019, quoted at ppmu.ouryao.com/thread-701175-1-1"
USP_SUMMARY = (
    "summary of USP <41>, "
    "atlanticscale.com/measurement-uncertainty-minimum-sample-weight-for-balances"
)
QUAM_A1 = (
    "EURACHEM/CITAC guide QUAM, example A1, tables A1.1 to A1.3, "
    "www.measurementuncertainty.org/guide/app_a_example1.html"
)


def rounds_to(value: Decimal, printed: str) -> bool:
    """Whether a value, rounded to the digits printed, is the printed one."""
    digits = Decimal(printed)
    return value.quantize(digits) == digits


MINIMUM = [
    ("0.0001", "0.00015", "0.30000", USP_TEXT),
    ("0.00001", "0.000004", "0.0082", USP_SUMMARY),
    ("0.0001", None, "0.082", USP_SUMMARY),
    ("0.01", "0.004", "8.2", USP_SUMMARY),
    ("0.1", None, "82", f"the rule of: {USP_SUMMARY}"),
    ("1", None, "820", f"the rule of: {USP_SUMMARY}"),
]


@pytest.mark.parametrize(("readability", "deviation", "minimum", "source"), MINIMUM)
def test_minimum_weight(readability: str, deviation: str | None, minimum: str, source: str) -> None:
    balance = Balance(
        readability=Fraction(readability),
        repeatability=None if deviation is None else Fraction(deviation),
    )
    assert minimum_weight(balance) == Fraction(minimum), source


def test_at_the_minimum_weight_repeatability_is_a_tenth_of_a_percent() -> None:
    # 2 × s ÷ m ≤ 0.10 %: USP <41> Balances, official 1 August 2019 (address above).
    balance = Balance(readability=Fraction("0.01"), repeatability=Fraction("0.02"))
    assert 2 * Fraction("0.02") / minimum_weight(balance) == Fraction("0.0010")


def test_where_the_floor_of_0_41_d_comes_from() -> None:
    # The zero and the loaded reading, each anywhere within half a division: √2 × d ÷ √12.
    # Derivation of USP <1251>, from memory.
    reading = rectangular(Fraction(1, 2))
    assert rounds_to(root_sum([reading, reading]), "0.40825")
    assert rounds_to(root_sum([reading, reading]), "0.41")


def test_a_sensitivity_of_6_mg_weighs_120_mg_within_5_percent() -> None:
    # Class III prescription balance, USP <1176>, from memory.
    assert mass_for(Fraction(6), Fraction(5, 100)) == 120


def test_a_value_anywhere_between_two_limits() -> None:
    # Between 7 and 10: 1.5 ÷ √3 = 0.87. Example in the style of QUAM, appendix E.1,
    # th4.ilovetranslation.com/QaAFid0tgpD=d
    assert rounds_to(rectangular(Fraction(3, 2)), "0.8660")


def test_one_division_of_a_display() -> None:
    # d = 0.01 g gives 0.0028868 g, rounded 0.29 d: JCGM 100:2008, F.2.2.1 (clause from memory).
    # The form (a+ − a−) ÷ √12 was seen at math.techqa.club, question 2882020.
    reading = Balance(readability=Fraction("0.01")).reading
    assert rounds_to(reading, "0.0028868")
    assert rounds_to(reading * 100, "0.29")


def test_the_parts_of_a_flask_together() -> None:
    # 0.1 ml triangular, 0.02 ml repeatability, 4 °C × 2.1e-4 /°C × 100 ml rectangular: 0.07 ml.
    # EURACHEM/CITAC guide QUAM, example A1 (address above); 0.02 and 4 °C from memory.
    triangular = Decimal("0.1") / Decimal(6).sqrt()
    warmth = rectangular(4 * Fraction("0.00021") * 100)
    together = root_sum([triangular, Decimal("0.02"), warmth])
    assert rounds_to(together, "0.0664730521840743")
    assert rounds_to(together, "0.07")


def test_limits_of_a_purity() -> None:
    assert rounds_to(rectangular(Fraction("0.0001")), "0.000058"), QUAM_A1
    assert rounds_to(rectangular(Fraction("0.0001")), "0.000057735")


def test_a_concentration_from_mass_purity_and_volume() -> None:
    # c = 1000 × 100.28 mg × 0.9999 ÷ 100.0 ml = 1002.7 mg/l, ± 0.9, relative 0.0009.
    c = 1000 * Fraction("100.28") * Fraction("0.9999") / 100
    assert rounds_to(Decimal(c.numerator) / c.denominator, "1002.7"), QUAM_A1
    parts = [("0.05", "100.28"), ("0.000058", "0.9999"), ("0.07", "100")]
    relative = root_sum(Decimal(u) / Decimal(value) for u, value in parts)
    assert rounds_to(relative, "0.0009"), QUAM_A1
    mass, purity, volume = (uncertainties.ufloat(float(v), float(u)) for u, v in parts)
    reference = 1000 * mass * purity / volume
    assert f"{reference:.1f}" == "1002.7+/-0.9"
    assert float(relative) * reference.n == pytest.approx(reference.s, rel=1e-6)


def test_twelve_lines_grow_with_the_square_root_of_their_number() -> None:
    # Each 0.0028868 g: 0.0100 g. JCGM 100:2008, 5.1.2, equation 10, from memory.
    assert rounds_to(root_sum([Decimal("0.0028868")] * 12), "0.0100")


def test_a_small_addition_by_difference() -> None:
    # 0.50 g on a balance of 0.01 g: 0.00408 g, 0.8165 %. JCGM 100:2008, 5.1.2, from memory.
    line = line_uncertainty(Balance(readability=Fraction("0.01")))
    assert rounds_to(line, "0.00408")
    assert rounds_to(line / Decimal("0.50") * 100, "0.8165")


def test_the_minimum_weight_is_820_divisions_at_best() -> None:
    # 2 s ÷ m <= 0.10 % with s no less than 0.41 d; before 2013 it was 1000 divisions: summary of
    # changes to USP <41>, sartorius.com.
    balance = Balance(readability=Fraction("0.01"))
    holds(minimum_weight(balance) / balance.readability, "820", source=USP_SUMMARY, within=0.5)


def test_the_bench_rule_is_ten_divisions_for_5_percent() -> None:
    # Half a division within 5 % of the mass: 1 g on 0.1 g; with the pharmacopoeia's rule 82 g.
    balance = Balance(readability=Fraction("0.1"))
    wanted = Fraction(5, 100)
    assert least_mass(balance, wanted) == 1  # common practice, no source
    holds(least_mass(balance, wanted, strict=True), "82", source=f"the rule of: {USP_SUMMARY}")


def test_half_a_gram_in_a_hundred_on_a_tenth_is_ten_percent_off() -> None:
    # 0.5 % in 100 g on a balance of 0.1 g: 10 % by resolution alone. Common practice, no source;
    # from a batch of 200 g on half a division is 5 %.
    cream = composed(preservative="0.5", water="qs")
    found = targets(cream, parse_quantity("100 g", "mass"), Decimal("0.1"))[0]
    assert found.error is not None
    holds(100 * found.error, "10", source="common practice, no source", within=0.01)
    balance = Balance(readability=Fraction("0.1"))
    small = targets(cream, parse_quantity("5 g", "mass"), Decimal("0.1"))[0]
    assert enough_from(small, balance) == 200


FLASK = [Decimal("0.1") / Decimal(6).sqrt(), Decimal("0.02"), rectangular(Fraction("0.084"))]
RELATIVE = [Decimal(u) / Decimal(v) for u, v in (("0.05", "100.28"), ("0.07", "100"))]
READING = rectangular(Fraction("0.005"))
EXAMPLE_E1 = "example in the style of QUAM, appendix E.1, th4.ilovetranslation.com/QaAFid0tgpD=d"
UNCERTAIN = [
    Outside("7 to 10", rectangular(Fraction(3, 2)), "0.87", EXAMPLE_E1),
    Outside("a purity", rectangular(Fraction("0.0001")), "0.000058", QUAM_A1),
    Outside("a flask", root_sum(FLASK), "0.0664730521840743", QUAM_A1, "0.0000001"),
    Outside("relative", root_sum(RELATIVE), "0.0009", QUAM_A1),
    Outside(
        "a concentration", root_sum(RELATIVE) * Decimal("1002.7"), "0.9",
        "uncertainties 3.2.3: ufloat prints 1002.7+/-0.9",
    ),
    Outside(
        "a division", Balance(readability=Fraction("0.01")).reading, "0.0028868",
        "(a+ − a−) ÷ √12, math.techqa.club question 2882020; JCGM 100:2008, F.2.2.1",
    ),
    Outside(
        "half a division", rectangular(Fraction(1, 2)), "0.28868", "JCGM 100:2008, F.2.2.1",
        "0.00001", memory=True,
    ),
    Outside("the floor", square_root(2 * Fraction(1, 12)), "0.41", "USP <1251>", memory=True),
    Outside("the floor in use", USP_FLOOR, "0.41", USP_SUMMARY),
    Outside("twelve lines", root_sum([READING] * 12), "0.0100", "JCGM 5.1.2", memory=True),
    Outside(
        "by difference", line_uncertainty(Balance(readability=Fraction("0.01"))), "0.00408",
        "JCGM 5.1.2", memory=True,
    ),
]  # fmt: skip


@pytest.mark.parametrize("row", UNCERTAIN, ids=str)
def test_a_shift_by_twice_the_tolerance_is_seen(row: Outside) -> None:
    row.check()


# Against the PyPI package `uncertainties`, which follows correlated variables by itself ---------


def lines_by_reference(masses: list[str], reading: float, way: Way) -> list[Any]:
    """The lines as differences of readings that the reference knows as variables."""
    if way == "tare":
        return [
            uncertainties.ufloat(float(mass), reading) - uncertainties.ufloat(0, reading)
            for mass in masses
        ]
    shown = [sum(map(float, masses[:n])) for n in range(len(masses) + 1)]
    readings = [uncertainties.ufloat(value, reading) for value in shown]
    return [after - before for before, after in pairwise(readings)]


BATCHES = [
    ["23.5", "1.5", "70.4", "4", "0.6"],
    ["0.5", "99.5"],
    ["10"] * 12,
    ["3.1", "0", "200"],
]


@pytest.mark.parametrize("way", ["tare", "cumulative"])
@pytest.mark.parametrize("masses", BATCHES)
@pytest.mark.parametrize("readability", ["0.01", "0.1", "1"])
def test_totals_and_percents_agree_with_the_reference(
    masses: list[str], readability: str, way: Way
) -> None:
    balance = Balance(readability=Fraction(readability))
    reference = lines_by_reference(masses, float(balance.reading), way)
    total = sum(reference)
    assert float(total_uncertainty(len(masses), balance, way)) == pytest.approx(total.s, rel=1e-9)
    own = percent_uncertainties([Fraction(mass) for mass in masses], balance, way)
    for percent, line in zip(own, reference, strict=True):
        assert float(percent) == pytest.approx((100 * line / total).s, rel=1e-9, abs=1e-12)
