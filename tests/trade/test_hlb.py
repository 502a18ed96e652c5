from decimal import Decimal
from fractions import Fraction
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from labbook.model.errors import NotAllowed
from labbook.model.formula import Formula, Line
from labbook.model.materials import Ingredient, Part, Value
from labbook.model.sheets import Sheets
from labbook.trade import hlb_of_formula
from labbook.trade.composition import resolve
from labbook.trade.hlb import (
    Span,
    davies,
    from_saponification,
    griffin,
    mixed,
    mixed_span,
    share_for,
    span_of,
    uses_of,
)
from labbook.trade.hlb_of_formula import Weighted, required, why_not
from tests.trade.making import formula, line, sheets, value

SHARE = st.fractions(0, 1, max_denominator=1000)
HLB = st.fractions(0, 40, max_denominator=100)

# Laws ---------------------------------------------------------------------------------------------


@given(SHARE, HLB, HLB)
def test_solving_a_pair_undoes_mixing_it(share: Fraction, one: Fraction, other: Fraction) -> None:
    blend = mixed([(share, one), (1 - share, other)])
    found = share_for(blend, one, other)
    assert found == (share if one != other else Fraction(1, 2))
    assert mixed([(found, one), (1 - found, other)]) == blend


@given(HLB, HLB, HLB)
def test_a_pair_reaches_just_what_lies_between(
    target: Fraction, one: Fraction, other: Fraction
) -> None:
    if min(one, other) <= target <= max(one, other):
        assert 0 <= share_for(target, one, other) <= 1
    else:
        with pytest.raises(NotAllowed, match="not reachable"):
            share_for(target, one, other)


@given(HLB, HLB, HLB)
def test_naming_the_pair_the_other_way_round_gives_the_rest(
    target: Fraction, one: Fraction, other: Fraction
) -> None:
    if one != other and min(one, other) <= target <= max(one, other):
        assert share_for(target, one, other) + share_for(target, other, one) == 1


PARTS = st.lists(
    st.tuples(st.fractions(Fraction(1, 100), 50, max_denominator=100), HLB, HLB),
    min_size=1,
    max_size=6,
)


@given(PARTS)
def test_a_mixture_lies_between_its_parts_whatever_their_order(
    parts: list[tuple[Fraction, Fraction, Fraction]],
) -> None:
    spans = [(mass, Span(min(a, b), max(a, b))) for mass, a, b in parts]
    found = mixed_span(spans)
    assert min(s.low for _, s in spans) <= found.low <= found.high
    assert found.high <= max(s.high for _, s in spans)
    assert mixed_span(spans[::-1]) == found
    assert mixed_span([(3 * mass, span) for mass, span in spans]) == found


@given(HLB)
def test_a_blend_of_one_is_that_one(hlb: Fraction) -> None:
    assert mixed([(Fraction(3), hlb)]) == hlb


@given(st.integers(0, 200), st.integers(0, 200))
def test_more_ethylene_oxide_is_a_higher_griffin_hlb(few: int, more: int) -> None:
    low, high = sorted((few, more))
    values = [griffin(Fraction(44 * n), Fraction(44 * n + 270)) for n in (low, high)]
    assert values[0] <= values[1] < 20
    assert values[0] == 0 if low == 0 else values[0] > 0


@given(st.integers(0, 4), st.integers(0, 20))
def test_a_carbon_takes_away_0_475(groups: int, carbons: int) -> None:
    before = davies({"-OH, free": groups}, carbons)
    assert before - davies({"-OH, free": groups}, carbons + 1) == Fraction("0.475")


@pytest.mark.parametrize(
    "call",
    [
        lambda: mixed([]),
        lambda: mixed([(Fraction(0), Fraction(5))]),
        lambda: griffin(Fraction(5), Fraction(4)),
        lambda: griffin(Fraction(-1), Fraction(4)),
        lambda: griffin(Fraction(0), Fraction(0)),
        lambda: from_saponification(Fraction(200), Fraction(198)),
        lambda: from_saponification(Fraction(1), Fraction(0)),
        lambda: davies({"-COOH": -1}, 3),
        lambda: davies({}, -3),
    ],
)
def test_what_no_molecule_is_gives_no_figure(call: Any) -> None:
    with pytest.raises(ValueError, match=r"\w"):
        call()


def test_a_group_outside_the_table_is_refused() -> None:
    with pytest.raises(KeyError):
        davies({"-SO3Na": 1}, 3)


def test_between_the_ranges_there_is_no_use() -> None:
    assert uses_of(Fraction("6.5")) == ()
    assert uses_of(Fraction(8)) == ("wetting agent", "oil-in-water emulsifier")


@pytest.mark.parametrize(
    ("given_", "span"),
    [
        (None, None),
        (value("9-12"), Span(Fraction(9), Fraction(12))),
        (value("4.3"), Span(Fraction("4.3"), Fraction("4.3"))),
        (Value(from_=Decimal(9)), None),
        (Value(to=Decimal(9)), None),
    ],
)
def test_a_sheets_figure_as_a_range(given_: Value | None, span: Span | None) -> None:
    assert span_of(given_) == span


# A formula ----------------------------------------------------------------------------------------


def sheet(name: str, *functions: str, **more: Any) -> Ingredient:
    for key in {"HLB", "required_HLB"} & set(more):
        more[key] = value(more[key])
    return Ingredient(id=name, functions=functions, **more)


BOOK = sheets(
    water=sheet("water", "water", soluble_in="water"),
    oil=sheet("oil", "oil", soluble_in="oil", required_HLB="10-12"),
    plain=sheet("plain", "oil", soluble_in="oil"),
    alcohol=sheet("alcohol", "thickener", "co-emulsifier", soluble_in="oil", required_HLB="15"),
    high=sheet("high", "emulsifier", HLB="15", charge="nonionic", soluble_in="water"),
    low=sheet("low", "emulsifier", HLB="4.3", charge="nonionic", soluble_in="oil"),
    blank=sheet("blank", "emulsifier", charge="nonionic", soluble_in="oil"),
    soap=sheet("soap", "emulsifier", HLB="18", charge="anionic"),
    quat=sheet("quat", "surfactant", charge="cationic"),
    stearic_acid=Ingredient(id="stearic-acid", functions=("thickener",), required_HLB=value("15")),
    alkali=sheet("alkali", "base"),
    wax=sheet(
        "wax",
        "emulsifier",
        soluble_in="oil",
        contains=(
            Part(ingredient="alcohol", percent=Decimal(80)),
            Part(ingredient="high", percent=Decimal(20)),
        ),
    ),
)


def lotion(*lines: Line, emulsion: str = "oil-in-water") -> Formula:
    made = formula(A=list(lines), B=[line("water", "qs")])
    return Formula(code="LO", title="Lotion", id=made.id, emulsion=emulsion, phases=made.phases)


def asked(*lines: Line, book: Sheets = BOOK) -> Weighted:
    return required(resolve(lotion(*lines), book), book)


def had(*lines: Line) -> Weighted:
    return hlb_of_formula.given(resolve(lotion(*lines), BOOK), BOOK)


def test_an_oil_phase_asks_for_a_range_over_what_is_known() -> None:
    found = asked(line("oil", "6"), line("alcohol", "3"), line("plain", "1"), line("high", "4"))
    assert found.span == Span(Fraction(105, 9), Fraction(117, 9))
    assert found.covered == 9
    assert found.whole == 10
    assert [part.ingredient for part in found.parts if part.span is None] == ["plain"]
    assert found.enough


def test_a_range_of_a_few_oils_does_not_speak_for_all() -> None:
    assert not asked(line("oil", "7"), line("plain", "3")).enough
    assert asked(line("oil", "7.5"), line("plain", "2.5")).enough
    assert not asked(line("plain", "3")).enough
    assert asked(line("water", "3")).parts == ()


def test_emulsifiers_give_their_mean_and_unknown_ones_are_listed() -> None:
    found = had(line("high", "2"), line("low", "2"), line("blank", "1"), line("oil", "10"))
    assert found.span == Span(Fraction("9.65"), Fraction("9.65"))
    assert [part.ingredient for part in found.parts if part.span is None] == ["blank"]


def test_a_fatty_alcohol_asks_and_does_not_give() -> None:
    lines = (line("alcohol", "3"), line("high", "2"))
    assert [part.ingredient for part in asked(*lines).parts] == ["alcohol"]
    assert [part.ingredient for part in had(*lines).parts] == ["high"]


def test_a_role_makes_an_emulsifier_of_what_its_sheet_calls_none() -> None:
    assert [x.ingredient for x in had(line("plain", "3", role="emulsifier")).parts] == ["plain"]


def test_a_blend_without_a_figure_counts_by_its_parts() -> None:
    found = asked(line("wax", "5"), line("oil", "4"))
    assert {part.ingredient: part.percent for part in found.parts} == {"alcohol": 4, "oil": 4}
    gives = had(line("wax", "5"))
    assert [(part.ingredient, part.percent) for part in gives.parts] == [("high", Fraction(1))]


def test_what_has_no_percent_or_no_sheet_counts_nowhere() -> None:
    found = asked(line("oil"), line("unheard-of", "3"), line("alcohol", "2"))
    assert [part.ingredient for part in found.parts] == ["alcohol"]


# Where the scale doesn't apply --------------------------------------------------------------------


def reason(*lines: Line, emulsion: str = "oil-in-water") -> str:
    made = lotion(*lines, emulsion=emulsion)
    return why_not(made, resolve(made, BOOK), BOOK)


@pytest.mark.parametrize("emulsion", ["water-in-oil", "anhydrous", "gel", "solution", "surfactant"])
def test_outside_oil_in_water_it_says_why_and_no_number(emulsion: str) -> None:
    found = reason(line("oil", "20"), line("high", "3"), emulsion=emulsion)
    assert emulsion in found
    assert not any(letter.isdigit() for letter in found)


@pytest.mark.parametrize(
    ("lines", "words"),
    [
        ((line("soap", "2"),), "soap is anionic"),
        ((line("high", "2"), line("quat", "1")), "quat is cationic"),
        (
            (line("stearic-acid", "3"), line("alkali", "0.2")),
            "stearic-acid with alkali makes a soap",
        ),
    ],
)
def test_charged_emulsifiers_are_no_matter_of_hlb(lines: tuple[Line, ...], words: str) -> None:
    assert words in reason(line("oil", "20"), *lines)


@pytest.mark.parametrize(
    "lines",
    [
        (line("high", "2"), line("low", "1")),
        (line("stearic-acid", "3"),),
        (line("alkali", "0.1"),),
        (line("blank", "2"),),
    ],
)
def test_nonionic_oil_in_water_is(lines: tuple[Line, ...]) -> None:
    assert reason(line("oil", "20"), *lines) == ""
