from decimal import Decimal, getcontext, localcontext
from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from labbook.trade.exact import (
    decimal_text,
    decimals_needed,
    of_steps,
    rounded_like,
    square_root,
    steps,
    steps_up,
)

FRACTIONS = st.fractions(min_value=-1000, max_value=1000, max_denominator=10**6)


@pytest.mark.parametrize(
    ("value", "typed", "text"),
    [
        ("1/2", None, "0.5"),
        ("1/2", "0.50", "0.50"),
        ("1/2", "0.51", "0.5"),
        ("1/8", "0.12", "0.125"),
        ("10/3", None, "3.3333"),
        ("10/3", "3.33", "3.33"),
        ("10/3", "3.34", "3.3333"),
        ("-1/3", None, "-0.3333"),
        ("0", None, "0"),
        ("100", "100.0", "100.0"),
        ("1/1000000", None, "0.000001"),
    ],
)
def test_text_is_what_was_typed_else_exact_else_rounded(
    value: str, typed: str | None, text: str
) -> None:
    assert decimal_text(Fraction(value), None if typed is None else Decimal(typed)) == text


@given(FRACTIONS)
def test_text_of_decimals_that_end_reads_back_as_the_value(value: Fraction) -> None:
    text = decimal_text(value)
    assert "E" not in text
    if decimals_needed(value) is None:
        assert abs(Fraction(text) - value) <= Fraction(1, 20_000)
    else:
        assert Fraction(text) == value


@given(st.decimals(min_value=0, max_value=1000, places=4))
def test_typed_digits_stay(typed: Decimal) -> None:
    assert decimal_text(Fraction(typed), typed) == f"{typed:f}"


def test_rounding_takes_the_even_side_of_a_half() -> None:
    assert [steps(Fraction(n, 20), Decimal("0.1")) for n in (1, 3, 5)] == [0, 2, 2]
    assert rounded_like(Fraction("0.125"), Decimal("0.12")) == Fraction("0.12")


@given(st.integers(0, 10**9), st.sampled_from(["0.001", "0.02", "0.10", "0.5", "1", "1E+1"]))
def test_steps_are_exact_both_ways(count: int, step: str) -> None:
    mass = of_steps(count, Decimal(step))
    assert Fraction(mass) == count * Fraction(step)
    assert steps(Fraction(mass), Decimal(step)) == steps_up(Fraction(mass), Decimal(step)) == count
    assert "E" not in f"{mass:f}"


def test_a_mass_has_the_decimals_of_the_step() -> None:
    assert str(of_steps(700, Decimal("0.01"))) == "7.00"
    assert str(of_steps(35, Decimal("0.02"))) == "0.70"
    assert str(of_steps(3, Decimal("1"))) == "3"


def test_nobodys_decimal_context_changes_a_figure() -> None:
    before = square_root(Fraction(1, 3)), decimal_text(Fraction(1, 3))
    with localcontext() as context:
        context.prec = 3
        assert getcontext().prec == 3
        assert (square_root(Fraction(1, 3)), decimal_text(Fraction(1, 3))) == before
        assert str(of_steps(1234567, Decimal("0.001"))) == "1234.567"
