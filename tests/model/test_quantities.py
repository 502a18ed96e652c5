"""Quantities and numbers as typed."""

from __future__ import annotations

from decimal import Decimal
from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from labbook.model.quantities import (
    DIMENSIONS,
    SPELLINGS,
    Quantity,
    QuantityError,
    in_digits,
    parse_number,
    parse_quantity,
)
from tests.records import NUMBERS, SIGNED, quantities


@given(NUMBERS)
def test_a_number_keeps_its_digits(number: Decimal) -> None:
    assert str(parse_number(f"{number:f}")) == f"{number:f}"


@pytest.mark.parametrize("written", ["0.50", "00.5", "100", "0", "0815"])
def test_digits_as_typed(written: str) -> None:
    assert f"{parse_number(written):f}".lstrip("0") == written.lstrip("0")


@given(SIGNED)
def test_a_sign_only_where_it_can_be(number: Decimal) -> None:
    assert parse_number(f"{number:f}", signed=True) == number
    if f"{number:f}".startswith("-"):
        with pytest.raises(QuantityError, match="below zero"):
            parse_number(f"{number:f}")


@pytest.mark.parametrize(
    "written",
    ["", " 1", "1 ", "+1", "1.", ".5", "1e5", "1_000", "1 000", "0x10", "NaN", "inf", "½", "٣",
     "１", "1.2.3", "1,2,3", "--1", "1\n", "a"],
)  # fmt: skip
def test_what_is_no_number(written: str) -> None:
    with pytest.raises(QuantityError, match="is not a number"):
        parse_number(written, signed=True)


def test_a_decimal_comma_is_answered_with_the_point() -> None:
    with pytest.raises(QuantityError) as refused:
        parse_number("0,8")
    assert str(refused.value) == "0,8 has a decimal comma; files take a point: 0.8"
    with pytest.raises(QuantityError) as refused:
        parse_quantity("72,5 °C", "temperature")
    assert str(refused.value) == "72,5 °C has a decimal comma; files take a point: 72.5 °C"


def test_more_digits_than_a_bench_needs() -> None:
    with pytest.raises(QuantityError, match="more digits"):
        parse_number("9" * 5000)


@given(quantities(""))
def test_a_quantity_reads_back_what_it_writes(quantity: Quantity) -> None:
    assert parse_quantity(str(quantity)) == quantity


@pytest.mark.parametrize(("unit", "spellings"), SPELLINGS.items())
def test_every_spelling_of_a_unit(unit: str, spellings: tuple[str, ...]) -> None:
    for spelling in spellings:
        assert parse_quantity(f"5 {spelling}") == Quantity(Decimal(5), unit)
        if spelling != "1/min":  # 51/min is 51 in a minute
            assert parse_quantity(f"5{spelling}") == Quantity(Decimal(5), unit)


def test_no_spelling_means_two_units() -> None:
    everything = [spelling for spellings in SPELLINGS.values() for spelling in spellings]
    assert len(everything) == len(set(everything))


@given(st.data())
def test_there_and_back_is_exact(data: st.DataObject) -> None:
    dimension = data.draw(st.sampled_from([d for d in DIMENSIONS if d != "temperature"]))
    quantity = data.draw(quantities(dimension))
    unit = data.draw(st.sampled_from(DIMENSIONS[dimension]))
    factor = Quantity(Decimal(1), unit).exact(quantity.unit)
    assert quantity.exact(unit) * factor == Fraction(quantity.value)


@given(quantities(""))
def test_equal_amounts_have_equal_bases(quantity: Quantity) -> None:
    amount, unit = quantity.base
    if quantity.dimension:
        assert quantity.exact(unit) == amount


@pytest.mark.parametrize(
    ("typed", "dimension", "said"),
    [
        ("72", "temperature", "72 has no unit; write it with one: 72 °C"),
        ("72 g", "temperature", "72 g is no temperature; use °C or °F"),
        ("-1 g", "mass", "-1 g is below zero"),
        ("a lot", "mass", "'a lot' is not a number with g"),
        (
            "3 drops",
            "mass",
            "3 drops: drops differ by bottle and liquid; weigh them and write grams",
        ),
        ("5 stone", "mass", "5 stone: 'stone' is no unit known here; use g, kg, mg, oz, lb"),
    ],
)
def test_refusals_say_what_to_write(typed: str, dimension: str, said: str) -> None:
    with pytest.raises(QuantityError) as refused:
        parse_quantity(typed, dimension)
    assert str(refused.value) == said


def test_a_frost_is_a_temperature() -> None:
    assert parse_quantity("-18 C", "temperature") == Quantity(Decimal(-18), "°C")


def test_different_things_cant_be_converted() -> None:
    with pytest.raises(QuantityError, match="5 g can't be given in ml"):
        parse_quantity("5 g").exact("ml")


@pytest.mark.parametrize(
    ("text", "count"),
    [
        *(("0", 0), ("7", 7), ("007", 7), ("999999999", 999_999_999)),
        *((text, None) for text in ("", "-1", "+1", "1.0", "1e3", "²", "٣", "１", " 1", "9" * 10)),
        ("9" * 5000, None),
    ],
)
def test_a_count_is_plain_digits(text: str, count: int | None) -> None:
    assert in_digits(text) == count
