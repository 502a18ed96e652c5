from decimal import Decimal
from fractions import Fraction

import pytest
from hypothesis import assume, given
from hypothesis import strategies as st

from labbook.model.materials import Ingredient
from labbook.model.quantities import Quantity
from labbook.model.sheets import Sheets
from labbook.trade.balance import Balance, minimum_weight
from labbook.trade.composition import resolve
from labbook.trade.premix import (
    LARGEST,
    Premix,
    carrier_for,
    enough_from,
    needs_help,
    premix,
    premixes,
    step_for,
    strongest,
)
from labbook.trade.scaling import Target, targets
from tests.trade.making import formula, line, sheets, value

COARSE = Balance(readability=Fraction("0.1"))

BOOK = sheets(
    water=Ingredient(
        id="water", functions=("water",), soluble_in="water", volatile_content=value("100")
    ),
    glycerin=Ingredient(
        id="glycerin", functions=("humectant",), soluble_in="water", physical="liquid"
    ),
    ethanol=Ingredient(
        id="ethanol", functions=("solvent",), soluble_in="both", physical="liquid",
        volatile_content=value("100"),
    ),
    salt=Ingredient(
        id="salt", functions=("electrolyte",), soluble_in="water", physical="solid",
        water_solubility=value("26"),
    ),
    oil=Ingredient(id="oil", functions=("oil",), soluble_in="oil", physical="liquid"),
    wax=Ingredient(id="wax", functions=("wax",), soluble_in="oil", physical="solid"),
    bisabolol=Ingredient(id="bisabolol", functions=("active",), soluble_in="oil"),
    tocopherol=Ingredient(
        id="tocopherol", functions=("antioxidant",), soluble_in="oil", physical="liquid"
    ),
    pigment=Ingredient(id="pigment", functions=("active", "pigment"), soluble_in="neither"),
    poor=Ingredient(
        id="poor", functions=("preservative",), soluble_in="water", physical="powder",
        water_solubility=value("1.5"),
    ),
)  # fmt: skip

PHASES = {
    "A": [line("oil", "14"), line("wax", "3")],
    "B": [line("water", "qs"), line("glycerin", "4"), line("ethanol", "30")],
}


def goals(
    name: str, percent: str, *, phase: str = "B", size: str = "100", balance: Balance = COARSE,
    strict: bool = False, book: Sheets = BOOK, role: str | None = None,
) -> tuple[Target, tuple[Target, ...]]:  # fmt: skip
    phases = {key: list(own) for key, own in PHASES.items()}
    phases.setdefault(phase, []).append(line(name, percent, role=role))
    composition = resolve(formula(**phases), book)
    step = Decimal(balance.readability.numerator) / balance.readability.denominator
    found = targets(composition, Quantity(Decimal(size), "g"), step, strict=strict)
    return next(one for one in found if one.line.ingredient == name), found


def made(name: str, percent: str, phase: str = "B") -> Premix | None:
    one, found = goals(name, percent, phase=phase)
    return premix(one, found, BOOK, COARSE)


def test_a_line_that_rounds_to_nothing_gets_a_premix_from_its_own_phase() -> None:
    found = made("bisabolol", "0.02", phase="A")
    assert found is not None
    assert found.of.line.ingredient == "oil"
    assert (found.part, found.carrier) == (Decimal("2.0"), Decimal("198.0"))
    assert found.strength == 1
    assert (found.weigh, found.left) == (Decimal("2.0"), Decimal("12.0"))
    assert found.holds == Fraction("0.02")
    assert found.error == Fraction("0.05")


def test_salt_goes_into_the_water_that_fills_up() -> None:
    found = made("salt", "0.3")
    assert found is not None
    assert found.of.line.ingredient == "water"
    assert found.strength == 20
    assert found.of.mass is not None
    assert found.left == found.of.mass + Decimal("0.3") - found.weigh


def test_a_line_that_is_large_enough_gets_none() -> None:
    assert made("salt", "1.0") is None
    assert made("salt", "0.9") is not None


@pytest.mark.parametrize(
    ("name", "phase", "carrier"),
    [
        ("salt", "C", "water"),
        ("bisabolol", "B", "oil"),
        ("pigment", "A", "oil"),
        ("pigment", "B", "water"),
        ("tocopherol", "A", "oil"),
    ],
)
def test_which_line_carries(name: str, phase: str, carrier: str) -> None:
    one, found = goals(name, "0.02", phase=phase)
    chosen = carrier_for(one, found, BOOK)
    assert chosen is not None and chosen.line.ingredient == carrier


def test_what_nobody_knows_how_to_dissolve_gets_none() -> None:
    one, found = goals("mystery", "0.02", role="preservative")
    assert needs_help(one)
    assert carrier_for(one, found, BOOK) is None
    assert premix(one, found, BOOK, COARSE) is None


def test_no_more_of_it_than_dissolves() -> None:
    one, found = goals("poor", "0.5", size="400", balance=Balance(readability=Fraction(1)))
    carrier = carrier_for(one, found, BOOK)
    assert carrier is not None
    assert strongest(one, carrier, BOOK) == Fraction("1.5")
    unknown, others = goals("pigment", "0.02", phase="A")
    carrier = carrier_for(unknown, others, BOOK)
    assert carrier is not None and strongest(unknown, carrier, BOOK) == 10
    finely = made("poor", "0.1")
    assert finely is None or finely.strength <= Fraction("1.5")


def test_something_that_does_not_dissolve_is_dispersed() -> None:
    found = made("pigment", "0.1", phase="A")
    assert found is not None and found.dispersed
    dissolved = made("salt", "0.3")
    assert dissolved is not None and not dissolved.dispersed


def test_what_is_adjusted_by_hand_gets_none() -> None:
    composition = resolve(
        formula(A=[line("water", "qs"), line("salt", "0.3", adjust="pH to 5")]), BOOK
    )
    found = targets(composition, Quantity(Decimal(100), "g"), Decimal("0.1"))
    assert needs_help(found[1])
    assert premix(found[1], found, BOOK, COARSE) is None


def test_two_premixes_take_their_carrier_one_after_the_other() -> None:
    phases = {**PHASES, "C": [line("salt", "0.3"), line("bisabolol", "0.1"), line("salt", "0.2")]}
    found = targets(resolve(formula(**phases), BOOK), Quantity(Decimal(100), "g"), Decimal("0.1"))
    own = premixes(found, BOOK, COARSE)
    water = [one for one in own if one.of.line.ingredient == "water"]
    assert len(own) == 3 and len(water) == 2
    assert water[1].of.mass == water[0].left
    # The batch keeps its sum: each premix stands for its line and for what the carrier lost.
    total = sum(one.mass for one in found if one.mass is not None)
    last = {one.of.line.index: one.left for one in own}
    taken = {one.target.line.index for one in own}
    rest = sum(
        last.get(one.line.index, one.mass)
        for one in found
        if one.mass is not None and one.line.index not in taken
    )
    assert rest + sum(one.weigh for one in own) == total


def test_with_the_pharmacopoeia_nothing_is_weighed_below_its_minimum() -> None:
    fine = Balance(readability=Fraction("0.001"))
    one, found = goals("salt", "0.5", size="500", balance=fine, strict=True)
    assert needs_help(one) is False  # 2.5 g, above 0.82 g
    one, found = goals("salt", "0.1", size="500", balance=fine, strict=True)
    own = premix(one, found, BOOK, fine, strict=True)
    assert own is not None
    assert min(own.part, own.weigh) >= minimum_weight(fine)


@pytest.mark.parametrize(
    ("name", "percent", "grams"),
    [("salt", "0.3", "333.4"), ("tocopherol", "0.02", "5000.0"), ("tocopherol", "3", None)],
)
def test_the_batch_from_which_a_line_is_fine(name: str, percent: str, grams: str | None) -> None:
    one, _ = goals(name, percent)
    assert enough_from(one, COARSE) == (None if grams is None else Decimal(grams))


@pytest.mark.parametrize(
    ("mass", "strict", "step"),
    [("1", False, "0.1"), ("0.99", False, "0.01"), ("0.02", False, "0.001"), ("10", False, "1"),
     ("0.3", True, "0.0001"), ("820", True, "1"), ("819", True, "0.1")],
)  # fmt: skip
def test_the_coarsest_balance_that_does(mass: str, strict: bool, step: str) -> None:
    assert step_for(Fraction(mass), Fraction(5, 100), strict=strict) == Decimal(step)


def test_no_mass_has_no_balance() -> None:
    with pytest.raises(ValueError, match="above zero"):
        step_for(Fraction(0), Fraction(5, 100))


@given(
    name=st.sampled_from(["salt", "bisabolol", "tocopherol", "pigment", "poor"]),
    twentieths=st.integers(1, 199),
    size=st.sampled_from([50, 100, 200, 500, 1000, 2000]),
    step=st.sampled_from(["1", "0.5", "0.1", "0.02", "0.01", "0.001"]),
)
def test_every_premix_holds_what_the_line_wants(
    name: str, twentieths: int, size: int, step: str
) -> None:
    # The line is up to ten divisions, in twentieths of one.
    balance = Balance(readability=Fraction(step))
    percent = Decimal(twentieths) * Decimal(step) * 5 / size
    assume(percent < 30)
    one, found = goals(name, f"{percent:f}", size=str(size), balance=balance)
    own = premix(one, found, BOOK, balance)
    if own is None:
        return
    assert one.exact is not None and one.mass is not None
    wanted = one.wanted or Fraction(5, 100)
    # Within the error wanted, rounding and both displays at their worst together.
    assert own.error <= wanted
    assert abs(own.holds / one.exact - 1) <= own.error
    # Weighed out of the premix there is, in steps that the balance shows, and the sum stays.
    assert 0 < own.weigh <= own.whole
    assert own.whole <= LARGEST * sum(x.mass for x in found if x.mass is not None)
    for mass in (own.part, own.carrier, own.weigh, own.left):
        assert (Fraction(mass) / balance.readability).denominator == 1 and mass >= 0
    assert own.of.mass is not None
    assert own.weigh + own.left == own.of.mass + one.mass
    assert own.strength == 100 * Fraction(own.part) / Fraction(own.whole)


def test_nearly_every_small_line_on_a_fine_balance_gets_one() -> None:
    fine = Balance(readability=Fraction("0.01"))
    without = []
    for hundredths in range(1, 10):
        one, found = goals("salt", f"0.{hundredths:02d}", balance=fine)
        own = premix(one, found, BOOK, fine)
        without += [hundredths] if own is None else []
    assert without == []
