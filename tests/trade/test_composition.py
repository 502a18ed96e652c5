from decimal import Decimal
from fractions import Fraction
from random import Random

import pytest
from hypothesis import given
from hypothesis import strategies as st

from labbook.model.materials import Ingredient
from labbook.model.sheets import Sheets
from labbook.trade.composition import Composition, percent_text, resolve
from labbook.trade.water import PhaseTotal
from tests.trade.making import composed, formula, line, sheets, value

WATER = Ingredient(id="water", functions=("water",))
OIL = Ingredient(id="sunflower-oil", functions=("oil",), soluble_in="oil")
GLYCERIN = Ingredient(id="glycerin", functions=("humectant",), soluble_in="water")


def rules(composition: Composition) -> list[tuple[str, int | None]]:
    return [(finding.rule, finding.line) for finding in composition.problems]


def test_the_qs_line_takes_what_the_others_leave() -> None:
    found = composed(sunflower_oil="23.5", glycerin="4.0", water="qs")
    assert found.total == Fraction("27.5")
    assert found.qs_percent == Fraction("72.5")
    assert found.complete
    assert found.problems == ()
    water = found.lines[2]
    assert (water.qs, water.percent, water.index, water.phase) == (True, Fraction("72.5"), 2, "A")
    assert [percent_text(x.percent, x.typed) for x in found.lines if x.percent is not None] == [
        "23.5",
        "4.0",
        "72.5",
    ]


def test_sums_are_exact_where_floating_point_is_not() -> None:
    found = composed(a="0.1", b="0.2", c="99.7")
    assert found.complete
    assert not found.problems


@pytest.mark.parametrize(
    ("amounts", "amount", "sentence"),
    [
        ({"a": "60", "b": "39.02"}, "-0.98", "add up to 99.02 %, 0.98 % short of 100"),
        ({"a": "60", "b": "41.5"}, "1.5", "add up to 101.5 %, 1.5 % over 100"),
    ],
)
def test_a_sum_that_is_not_100_says_by_how_much(
    amounts: dict[str, str], amount: str, sentence: str
) -> None:
    found = composed(**amounts)
    (finding,) = found.problems
    assert finding.rule == "total-not-100"
    assert finding.amount == Fraction(amount)
    assert sentence in finding.what
    assert not found.complete


def test_nothing_left_for_the_qs_line_is_said_and_not_weighed() -> None:
    found = composed(a="70", b="30.5", water="qs")
    assert rules(found) == [("qs-below-zero", 2)]
    assert found.qs_percent == Fraction("-0.5")
    assert found.lines[2].percent is None
    assert not found.complete


def test_exactly_nothing_left_is_nothing() -> None:
    found = composed(a="100", water="qs")
    assert found.qs_percent == found.lines[1].percent == 0
    assert found.complete and not found.problems


def test_two_lines_cannot_both_fill_up() -> None:
    found = composed(oil="20", water="qs", aloe_juice="qs")
    assert rules(found) == [("two-qs-lines", 2)]
    assert found.qs_percent is None
    assert found.qs_line is None
    assert [x.percent for x in found.lines] == [20, None, None]


def test_a_line_without_a_percent_leaves_the_qs_line_unknown() -> None:
    lines = [line("beeswax"), line("oil", "40"), line("water", "qs")]
    found = resolve(formula(A=lines), Sheets())
    assert rules(found) == [("percent-missing", 0)]
    assert found.total == 40
    assert found.qs_percent is None
    assert found.lines[2].percent is None


def test_a_missing_percent_hides_no_sum_that_is_over_already() -> None:
    over = resolve(formula(A=[line("beeswax"), line("oil", "101")]), Sheets())
    assert rules(over) == [("percent-missing", 0), ("total-not-100", None)]
    filled = resolve(formula(A=[line("beeswax"), line("oil", "101"), line("w", "qs")]), Sheets())
    assert rules(filled) == [("percent-missing", 0), ("qs-below-zero", 2)]
    under = resolve(formula(A=[line("beeswax"), line("oil", "90")]), Sheets())
    assert rules(under) == [("percent-missing", 0)]


def test_an_adjuster_counts_with_its_expected_amount() -> None:
    lines = [line("acid", "0.6", adjust="pH to 4.8 to 5.0"), line("water", "qs")]
    assert resolve(formula(A=lines), Sheets()).qs_percent == Fraction("99.4")
    lines = [line("acid", adjust="pH to 4.8 to 5.0"), line("water", "qs")]
    found = resolve(formula(A=lines), Sheets())
    assert rules(found) == [("expected-amount-missing", 0)]
    assert found.qs_percent is None


def test_an_empty_formula_has_no_findings() -> None:
    assert resolve(formula(), Sheets()) == Composition((), Fraction(), None, (), ())


LACTATE = sheets(lactate=Ingredient(id="sodium-lactate-solution", active_content=value("60")))


def test_an_active_percent_goes_through_the_sheets_content() -> None:
    found = resolve(formula(A=[line("lactate", active="1.2"), line("water", "qs")]), LACTATE)
    assert found.lines[0].percent == 2
    assert found.lines[0].sheet == "sodium-lactate-solution"
    assert found.qs_percent == 98
    assert not found.problems


def test_a_percent_beside_the_active_percent_counts_and_is_compared() -> None:
    same = resolve(formula(A=[line("lactate", "2.00", active="1.2")]), LACTATE)
    assert ("active-content-changed", 0) not in rules(same)
    changed = resolve(formula(A=[line("lactate", "3", active="1.2"), line("w", "qs")]), LACTATE)
    assert changed.lines[0].percent == 3
    (finding,) = changed.problems
    assert (finding.rule, finding.line) == ("active-content-changed", 0)
    assert finding.amount == 2
    assert "1.2 % active is 2 % at the active content of 60 %" in finding.what
    assert "3 % stands in the formula" in finding.what


def test_a_percent_that_never_ends_is_compared_with_the_digits_typed() -> None:
    third = sheets(lactate=Ingredient(id="lactate", active_content=value("30")))
    for typed, changed in (("3.33", False), ("3.3333", False), ("3.34", True)):
        found = resolve(formula(A=[line("lactate", typed, active="1"), line("w", "qs")]), third)
        assert bool(found.problems) is changed
    found = resolve(formula(A=[line("lactate", active="1"), line("w", "qs")]), third)
    assert found.lines[0].percent == Fraction(10, 3)
    assert found.complete


@pytest.mark.parametrize(
    ("sheet", "why"),
    [
        (None, "the ingredient has no sheet"),
        (Ingredient(id="x"), "its sheet gives no active content"),
        (Ingredient(id="x", active_content=value("55-65")), "a range"),
        (Ingredient(id="x", active_content=value("0")), "an active content of 0 %"),
        (Ingredient(id="x", active_content=value("120")), "an active content of 120 %"),
        (Ingredient(id="x", active_content=value("600", "g/l")), "in g/l, not in %"),
    ],
)
def test_an_unknown_active_content_is_said_unless_a_percent_stands_beside(
    sheet: Ingredient | None, why: str
) -> None:
    known = sheets() if sheet is None else sheets(x=sheet)
    found = resolve(formula(A=[line("x", active="1"), line("w", "qs")]), known)
    assert rules(found) == [("active-content-unknown", 0)]
    assert why in found.problems[0].what
    assert found.lines[0].percent is None
    beside = resolve(formula(A=[line("x", "2", active="1"), line("w", "qs")]), known)
    assert not beside.problems
    assert beside.qs_percent == 98


def test_ingredients_without_a_sheet_are_named_once() -> None:
    lines = [line("oil", "10"), line("water", "80"), line("oil", "10")]
    found = resolve(formula(A=lines), sheets(water=WATER))
    assert found.unknown == ("oil",)
    assert [x.known for x in found.lines] == [False, True, False]


CREAM = {
    "A": [line("sunflower-oil", "60"), line("mystery-wax", "5")],
    "B": [line("water", "qs"), line("glycerin", "5")],
}


def test_phase_totals_and_water_keep_unknown_apart_from_none() -> None:
    known = sheets(water=WATER, sunflower_oil=OIL, glycerin=GLYCERIN)
    found = resolve(formula(**CREAM), known)
    first, second = found.phase_totals()
    assert first == PhaseTotal("A", Fraction(65), Fraction(0), Fraction(5))
    assert second == PhaseTotal("B", Fraction(35), Fraction(30), Fraction(35))
    water = found.water()
    assert (water.least, water.most, water.phase) == (Fraction(30), Fraction(40), "B")
    assert water.unknown == ("mystery-wax", "glycerin")


def test_the_water_content_of_a_sheet_counts() -> None:
    glycerin = Ingredient(id="glycerin", water_content=value("0.5-14"))
    known = sheets(water=WATER, sunflower_oil=OIL, glycerin=glycerin)
    lines = [line("sunflower-oil", "60"), line("glycerin", "10"), line("water", "qs")]
    water = resolve(formula(A=lines), known).water()
    assert (water.least, water.most) == (Fraction("30.05"), Fraction("31.4"))
    assert water.unknown == ("glycerin",)


def test_the_water_phase_is_only_told_when_it_is_sure() -> None:
    assert resolve(formula(**CREAM), sheets(water=WATER)).water().phase is None  # 60 % unknown oil
    assert resolve(formula(**CREAM), sheets()).water().phase is None
    balm = formula(A=[line("sunflower-oil", "100")])
    assert resolve(balm, sheets(sunflower_oil=OIL)).water().phase is None
    draft = formula(A=[line("sunflower-oil")], B=[line("water", "qs")])
    found = resolve(draft, sheets(water=WATER, sunflower_oil=OIL))
    assert (found.water().least, found.water().phase) == (None, None)


AMOUNTS = st.lists(st.decimals(min_value=0, max_value=20, places=3), min_size=1, max_size=12)


@given(AMOUNTS, st.randoms(use_true_random=False))
def test_the_order_of_lines_changes_no_percent(amounts: list[Decimal], chance: Random) -> None:
    lines = [line(f"i{n}", str(amount)) for n, amount in enumerate(amounts)]
    lines.append(line("water", "qs"))
    shuffled = sorted(lines, key=lambda _: chance.random())
    one, other = (resolve(formula(A=x), Sheets()) for x in (lines, shuffled))
    assert {x.ingredient: x.percent for x in one.lines} == {
        x.ingredient: x.percent for x in other.lines
    }
    assert (one.total, one.qs_percent) == (other.total, other.qs_percent)


@given(AMOUNTS)
def test_a_qs_line_is_complete_or_said_to_be_below_zero(amounts: list[Decimal]) -> None:
    lines = [line(f"i{n}", str(amount)) for n, amount in enumerate(amounts)]
    found = resolve(formula(A=[*lines, line("water", "qs")]), Sheets())
    assert found.qs_percent is not None
    assert found.complete is (found.qs_percent >= 0)
    assert found.complete is not (("qs-below-zero", len(lines)) in rules(found))
    assert all(x.percent is None or x.percent >= 0 for x in found.lines)
