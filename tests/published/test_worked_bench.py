"""Weighing, premixes, costs, tables, heat and HLB against worked examples, the source beside each.

"CRC" are figures of the CRC Handbook as the PyPI package chemicals 1.5.2 tabulates them.
"""

from __future__ import annotations

from decimal import Decimal
from fractions import Fraction

import pytest

from labbook.model.grid import Cell, Grid
from labbook.model.materials import Lot
from labbook.model.quantities import Quantity
from labbook.model.results.importing import Named
from labbook.model.sheets import Sheets
from labbook.trade.balance import Balance, least_mass, relative_error
from labbook.trade.checks.counted import factor
from labbook.trade.cost import per_gram
from labbook.trade.hlb import mixed
from labbook.trade.premix import Premix
from labbook.trade.preservation import free_share
from labbook.trade.scaling import targets
from labbook.trade.sheet_amounts import amount_of
from labbook.trade.sheet_reading import Wish, read_sheet
from tests.published.outside import Outside
from tests.published.test_hlb import HLB, PAIRS, TABLE
from tests.trade.checks.recipes import OIL_IN_WATER, findings, step
from tests.trade.making import composed, grams

F = Fraction
MEDICAL_KEY = "basicmedicalkey.com/accurate-weighing-for-prescriptions"
ALIQUOT = "scribd.com/document/545509411/Aliquot-Method"
CAPSULES = "ehow.co.uk/how_7257845_calculate-aliquot.html"
COURSE = "collegeofpharmacy.com/CALLearningCentre, percentage error"
LEAST = "pharmacalculation.com/2024/01/minimum-weighable-quantity-calculation.html"

# Weighing ----------------------------------------------------------------------------------------


def least(sensitivity: str, percent: str) -> Fraction:
    """The least mass for an error of so many percent; a reading is off by the sensitivity."""
    return least_mass(Balance(readability=2 * F(sensitivity)), F(percent) / 100)


def off(error: str, mass: str) -> Fraction:
    """An error as a share of a mass."""
    found = relative_error(F(mass), F(error))
    assert found is not None
    return found


BENCH_RULE = [
    Outside("10 mg, 5 %", least("10", "5"), "200", LEAST),
    Outside("2.5 mg, 3 %", least("2.5", "3"), "83.3", LEAST),
    Outside("6 mg, 5 %", least("6", "5"), "120", MEDICAL_KEY),
    Outside("6 mg, 1 %", least("6", "1"), "600", MEDICAL_KEY),
    Outside("6 mg, 5 %", least("6", "5"), "120", "pharmlabs.unc.edu/labs/measurements/weigh.htm"),
    Outside("6 mg, 5 %", least("6", "5"), "120", "uhphar-4330.herokuapp.com, weighable quantity"),
    Outside("6 mg, 5 %", least("6", "5"), "120", CAPSULES),
    Outside("10 mg of 400 mg", 100 * off("10", "400"), "2.5", COURSE),
    Outside(
        "half of 0.001 g of 0.750 g",
        100 * off(f"{float(Balance(readability=F('0.001')).half_division)}", "0.750"),
        "0.067",
        "gauthmath.com/solution/1815419172200471",
    ),
    Outside(
        "0.004 g twice of 1.213 g",
        100 * off("0.008", "1.213"),
        "0.66",
        "bestchoice.net.nz/html/sa1/main/s687/p10925.htm",
    ),
    Outside("6.5 mg in 400, of 20", 20 * off("6.5", "400"), "0.325", "qammunity.org/20363702"),
]

SMALL, REST = targets(composed(active="1", base="qs"), grams("100"), Decimal("0.01"))


def premixed(part: str, carrier: str, weigh: str) -> Premix:
    """A premix of so much in so much, of which so much is weighed."""
    whole = F(part) + F(carrier)
    return Premix(
        target=SMALL,
        of=REST,
        strength=100 * F(part) / whole,
        part=Decimal(part),
        carrier=Decimal(carrier),
        weigh=Decimal(weigh),
        left=Decimal(),
        error=F(),
        dispersed=False,
    )


PREMIXES = [
    Outside("125 of 7500 mg", premixed("120", "7380", "125").holds, "2", MEDICAL_KEY, "0.001"),
    Outside("all of it", premixed("120", "7380", "125").whole, "7500", MEDICAL_KEY),
    Outside("120 of 1200 mg", premixed("120", "1080", "120").holds, "12", ALIQUOT, "0.001"),
    Outside("all of it", premixed("120", "1080", "120").whole, "1200", ALIQUOT),
    Outside("a twelfth of it", premixed("120", "1320", "120").holds, "10", CAPSULES, "0.001"),
    Outside("twelve of 120 mg", premixed("120", "1320", "120").whole / 12, "120", CAPSULES),
]

# Costs -------------------------------------------------------------------------------------------


def price(text: str, size: str, of: str) -> Fraction:
    """The price of so much from a pack, through the price of a gram."""
    each, _, missing = per_gram(Lot(id="l-1", ingredient="oil", price=text, size=grams(size)))
    assert each is not None, missing
    return each * grams(of).exact("g")


LESSON = "sites.ualberta.ca/~ioncmast/financefolder, mini lesson on unit price"
SHOPPING = "apierce622.tripod.com/computingunitprices"
PREALGEBRA = "mathvine.com/pre-algebra/unit-price"
COSTS = [
    Outside("550 g for 2.50, of 1 g", price("2.50 USD", "550 g", "1 g"), "0.004545", LESSON),
    Outside("1 kg for 5.00, of 1 g", price("5.00 USD", "1 kg", "1 g"), "0.005", LESSON, "0.000001"),
    Outside("19 oz for 2.49, of 1 oz", price("2.49 USD", "19 oz", "1 oz"), "0.13", SHOPPING),
    Outside("5 lb for 6.10, of 1 lb", price("6.10 USD", "5 lb", "1 lb"), "1.22", SHOPPING),
    Outside("3 lb for 19.50, of 1 lb", price("19.50 USD", "3 lb", "1 lb"), "6.50", PREALGEBRA),
    Outside("1.5 lb for 10.50, of 1 lb", price("10.50 USD", "1.5 lb", "1 lb"), "7.00", PREALGEBRA),
]

# Makers' tables ----------------------------------------------------------------------------------


def in_grams(text: str) -> Fraction:
    amount = amount_of(Cell(text))
    assert amount.value is not None
    return amount.value * Quantity(Decimal(1), amount.unit).exact("g")


def figure(text: str) -> Fraction:
    found = amount_of(Cell(text)).value
    assert found is not None
    return found


def named(text: str, inci: str) -> Named:
    return Named(ingredient=text)


def percents(*masses: str) -> list[Decimal]:
    """The percents of a table of grams as it would be imported."""
    rows = [(Cell(f"clay {n}"), Cell(mass)) for n, mass in enumerate(masses)]
    grid = Grid(file="t", rows=((Cell("ingredient"), Cell("g")), *rows))
    read = read_sheet(grid, named, Wish("point"))
    return [one.percent for one in read.lines if one.percent is not None]


LARGE, MIDDLE, WAX, SCENT, OIL = percents("40", "23", "10", "1.5", "0.5")
FORUM = "soapmakingforum.com/threads/lost-in-lotion-bars.83951, 75 g in all"
LOCALES = "docs.oracle.com/cd/E19620-01/805-4123, international numeric conventions"
TABLES = [
    Outside("40 g of 75", LARGE, "53.3", FORUM),
    Outside("23 g of 75", MIDDLE, "30.7", FORUM),
    Outside("10 g of 75", WAX, "13.3", FORUM),
    Outside("1.5 g of 75", SCENT, "2", FORUM, "0.01"),
    Outside("0.5 g of 75", OIL, "0.7", FORUM),
    Outside("German and Danish", figure("4.294.967.295,00"), "4294967295.00", LOCALES),
    Outside("British", figure("4,294,967,295.00"), "4294967295.00", LOCALES),
    Outside("French", figure("4 294 967 295,00"), "4294967295.00", LOCALES),
    Outside("continental", figure("12,3"), "12.3", "eggerapps.at, the CSV format"),
    Outside(
        "2 1/2 oz", in_grams("2 1/2 oz"), "70.9",
        "gradesaver.com, Basic College Mathematics (9th edition), 7.5, exercise 10",
    ),
    Outside("8 oz", in_grams("8 oz"), "226.8", "sundulerparents.com/12917929"),
    Outside("45 oz", in_grams("45 oz"), "1275.728541", "unitconvertapp.net, ounce to gram"),
]  # fmt: skip

# Free acid, and HLB of a blend -------------------------------------------------------------------

FOOD = "Food additives data book, benzoic acid, yumpu.com/en/document/view/15887055"


def free(pKa: str, pH: str) -> float:
    return 100 * free_share(F(pKa), F(pH))


# The book prints pK 4.19 beside its table; its figures fit 4.165, and are compared with that.
FREE = [
    *(
        Outside(f"benzoic acid at pH {pH}", free("4.165", pH), printed, FOOD, within)
        for pH, printed, within in (
            ("3", "93.5", "0.2"), ("4", "59.3", "0.2"), ("5", "12.8", "0.05"),
            ("6", "1.44", "0.005"), ("7", "0.144", "0.0025"),
        )
    ),
    Outside("pKa 3.5 at pH 1.0", free("3.5", "1"), "99.68", "qammunity.org/8213640", "0.01"),
    Outside("pKa 2.5 at pH 4.5", free("2.5", "4.5"), "1", "questionai.com, tOvacierNr", "0.01"),
    Outside("pKa 4.4 at pH 5.0", free("4.4", "5"), "20", "davidchita.com, mjölksyra", "0.1"),
    Outside("pKa 4.2 at pH 4.2", free("4.2", "4.2"), "50", "brewingforward.com/wiki/Benzoic_acid"),
]  # fmt: skip

AS_ACID = [
    Outside(
        "sodium benzoate for 1 g of benzoic acid",
        1 / (factor("sodium-benzoate", "benzoic-acid", Sheets()) or 0), "1.180",
        "ecrobot.com offer 1451141",
    ),
]  # fmt: skip

HLB_OF_PAIRS = [
    Outside(
        f"{first} % {one}, {second} % {other}",
        mixed([(F(first), F(HLB[one])), (F(second), F(HLB[other]))]), target, TABLE, "0.01",
    )
    for target, one, other, first, second in PAIRS
]  # fmt: skip


@pytest.mark.parametrize(
    "row", [*BENCH_RULE, *PREMIXES, *COSTS, *TABLES, *FREE, *AS_ACID, *HLB_OF_PAIRS], ids=str
)
def test_worked_examples_of_the_bench(row: Outside) -> None:
    row.check()


# Heat --------------------------------------------------------------------------------------------

CRC = "CRC Handbook of Chemistry and Physics, by chemicals 1.5.2"
MELTED = [
    ("rice-bran-wax", "80", "21 CFR 172.890"),
    ("candelilla-wax", "72.5", "en.wikipedia.org/wiki/Candelilla_wax"),
    ("carnauba-wax", "85.5", "Merck Index, data.cas-msds.com/Carnauba%20Wax.html"),
    ("beeswax", "64", "kemisstreekreations.com/kemicals/BEESWAX"),
    ("stearic-acid", "69.3", CRC),
    ("cetyl-alcohol", "49.3", CRC),
    ("behenyl-alcohol", "71", CRC),
]


def unmelted(name: str, degrees: Decimal) -> bool:
    """Whether the check says that heating to so many °C does not melt it."""
    heat = step("s2", "heat", {"A": str(degrees), "B": str(degrees)})
    case = OIL_IN_WATER.put("B", name, "1").doing(heat).case()
    rules = ("melts-above-heating", "emulsifier-melts-above-heating")
    return any(one.what.startswith(f"{name} melts") for r in rules for one in findings(case, r))


@pytest.mark.parametrize(("name", "melts", "source"), MELTED)
def test_heating_by_a_tenth_of_a_degree_too_little_is_said(
    name: str, melts: str, source: str
) -> None:
    """The mutation: the printed figure melts it, a tenth of a degree less does not."""
    assert not unmelted(name, Decimal(melts)), source
    assert unmelted(name, Decimal(melts) - Decimal("0.1")), source
