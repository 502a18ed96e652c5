"""Amounts as makers type them: one reading, or none and why."""

from __future__ import annotations

from decimal import Decimal
from fractions import Fraction

import pytest
from hypothesis import example, given
from hypothesis import strategies as st

from labbook.model.grid import Cell
from labbook.trade.sheet_amounts import Sign, amount_of, decimal_sign, normal, readings

ONE_WAY = [
    ("0.5", "0.5", "point"), ("0,5", "0.5", "comma"), (".5", "0.5", "point"), ("12", "12", ""),
    (",5", "0.5", "comma"), ("12.50", "12.50", "point"), ("12,50", "12.50", "comma"),
    ("1,000.5", "1000.5", "point"), ("1.000,5", "1000.5", "comma"), ("0.500", "0.500", "point"),
    ("0,500", "0.500", "comma"), ("1,000,000", "1000000", "point"),
    ("1.000.000", "1000000", "comma"),
    ("1 000", "1000", ""), ("1'000,25", "1000.25", "comma"), ("1234.567", "1234.567", "point"),
    ("12.3456", "12.3456", "point"), ("100", "100", ""),
]  # fmt: skip


@pytest.mark.parametrize(("token", "value", "sign"), ONE_WAY)
def test_a_figure_that_can_be_read_in_one_way(token: str, value: str, sign: str) -> None:
    ((found, needs),) = readings(token)
    assert (f"{found:f}", needs) == (value, sign)
    assert amount_of(Cell(token)).typed == Decimal(value)


@pytest.mark.parametrize(
    ("token", "point", "comma"),
    [("1,000", "1000", "1.000"), ("1.000", "1.000", "1000"), ("12.500", "12.500", "12500"),
     ("999,999", "999999", "999.999")],
)  # fmt: skip
def test_a_figure_that_can_be_read_in_two_ways(token: str, point: str, comma: str) -> None:
    found = amount_of(Cell(token))
    assert found.value is None
    assert point in found.unclear
    assert comma in found.unclear
    assert "--decimal point or --decimal comma" in found.unclear
    for sign, value in (("point", point), ("comma", comma)):
        told: Sign = "point" if sign == "point" else "comma"
        assert amount_of(Cell(token), told).typed == Decimal(value)
        assert amount_of(Cell(token), told).said == f"{token} read as {value}"


@pytest.mark.parametrize(
    "token",
    ["..07", "0..7", "1.2.3", "1,2,3", "1,00,000", "1 00", "1.000,", "12 34 56", "-2", "1e5",
     "0x10", "12.", "9" * 30, "1_000", "٣x", "NaN", "inf", "1.5.", "½½"],
)  # fmt: skip
def test_what_is_no_figure_is_never_one(token: str) -> None:
    found = amount_of(Cell(token))
    assert found.value is None
    assert found.unclear


@pytest.mark.parametrize(
    ("text", "value", "unit"),
    [
        ("4,5 %", "4.5", "%"), ("4.5%", "4.5", "%"), ("4.5 % w/w", "4.5", "%"), ("12 g", "12", "g"),
        ("12g", "12", "g"), ("1.5 kg", "1.5", "kg"), ("250 mg", "250", "mg"), ("3 oz", "3", "oz"),
        ("3 Ounces", "3", "oz"), ("2 lbs", "2", "lb"), ("20 parts", "20", "parts"),
        ("½ oz", "1/2", "oz"), ("1½", "3/2", ""), ("1 1/2 oz", "3/2", "oz"), ("3/4", "3/4", ""),
        ("１２．５ %", "12.5", "%"), ("⅓ oz", "1/3", "oz"), ("7.5 grams", "7.5", "g"),
    ],
)  # fmt: skip
def test_an_amount_with_its_unit(text: str, value: str, unit: str) -> None:
    found = amount_of(Cell(text))
    assert (found.value, found.unit, found.unclear) == (Fraction(value), unit, "")


@pytest.mark.parametrize("text", ["q.s.", "qs", "Q.S.", "q.s", "q. s.", "balance", "Quantum satis"])
def test_what_fills_up(text: str) -> None:
    found = amount_of(Cell(text))
    assert found.qs
    assert found.value is None


@pytest.mark.parametrize(
    ("text", "value", "unit"),
    [("to 100", "100", ""), ("q.s. to 100 %", "100", "%"), ("ad 100", "100", ""),
     ("qs ad 500 g", "500", "g"), ("up to 1 kg", "1", "kg"), ("q.s. (to 250 g)", "250", "g")],
)  # fmt: skip
def test_what_fills_up_to_a_figure(text: str, value: str, unit: str) -> None:
    found = amount_of(Cell(text))
    assert (found.qs, found.value, found.unit) == (True, Fraction(value), unit)


@pytest.mark.parametrize(
    ("text", "low", "high"),
    [("0.5-1", "0.5", "1"), ("0,5 – 1 %", "0.5", "1"), ("0.5 to 1", "0.5", "1"),
     ("1%-2%", "1", "2"),
     ("<0.3", None, "0.3"), ("max. 1 %", None, "1"), ("≥ 2", "2", None), ("at least 3", "3", None),
     ("at most 3", None, "3"), ("optional", "0", None)],
)  # fmt: skip
def test_what_the_maker_has_to_choose_stays_open(
    text: str, low: str | None, high: str | None
) -> None:
    found = amount_of(Cell(text))
    assert found.value is None
    assert found.open
    assert found.low == (None if low is None else Decimal(low))
    assert found.high == (None if high is None else Decimal(high))


@pytest.mark.parametrize("text", ["q.s. to pH 5.0", "qs pH 5.0", "to pH 5.0"])
def test_what_is_aimed_at_is_no_amount(text: str) -> None:
    found = amount_of(Cell(text))
    assert (found.adjust, found.qs, found.value, found.unclear) == ("pH 5.0", False, None, "")


@pytest.mark.parametrize(
    ("cell", "why"),
    [
        (Cell("2026-02-01", "date"), "is a date"),
        (Cell("=B2*2", "formula"), "has no result in the file"),
        (Cell("#DIV/0!", "error"), "is an error of the spreadsheet"),
        (Cell("#REF!"), "is an error of the spreadsheet"),
        (Cell("2 tsp"), "a spoon of what?"),
        (Cell("20 drops"), "drops differ by bottle"),
        (Cell("5 mL"), "is a volume"),
        (Cell("1 fl oz"), "differ by country"),
        (Cell("3 °C"), "is no weight"),
        (Cell("5 handfuls"), "is no unit known here"),
    ],
)
def test_what_is_no_weight_says_why(cell: Cell, why: str) -> None:
    assert why in amount_of(cell).unclear


def test_a_figure_that_a_spreadsheet_keeps_needs_no_sign() -> None:
    for sign in ("", "point", "comma"):
        told: Sign = "point" if sign == "point" else "comma" if sign else ""
        assert amount_of(Cell("1.000", "number"), told).typed == Decimal("1.000")


# Laws ---------------------------------------------------------------------------------------------

FIGURES = st.decimals(0, 99_999, places=2).map(lambda value: f"{value:,.2f}")


@given(FIGURES)
def test_two_decimals_are_read_alike_in_both_spellings(figure: str) -> None:
    swapped = figure.translate(str.maketrans(",.", ".,"))
    meant = Decimal(figure.replace(",", ""))
    assert amount_of(Cell(figure)).typed == meant
    assert amount_of(Cell(swapped)).typed == meant


@given(st.integers(1, 999), st.integers(0, 999), st.sampled_from(".,"))
def test_three_digits_behind_one_sign_are_never_guessed(whole: int, rest: int, sign: str) -> None:
    token = f"{whole}{sign}{rest:03d}"
    assert amount_of(Cell(token)).unclear
    assert len(readings(token)) == 2


@given(st.text(max_size=40), st.sampled_from(["", "point", "comma"]))
@example("~", "")
@example("about", "point")
def test_any_text_is_read_or_said(text: str, sign: str) -> None:
    told: Sign = "point" if sign == "point" else "comma" if sign else ""
    found = amount_of(Cell(text), told)
    said = found.unclear or found.qs or found.open or found.adjust or found.value is not None
    assert said or not normal(text)
    assert found.value is None or found.value >= 0


@given(st.lists(FIGURES, max_size=6), st.booleans())
def test_the_sign_is_proved_by_figures_of_one_spelling_only(figures: list[str], swap: bool) -> None:
    table = str.maketrans(",.", ".,") if swap else {}
    cells = [(n, Cell(figure.translate(table))) for n, figure in enumerate(figures, 1)]
    sign, proof = decimal_sign(cells)
    assert sign == (("comma" if swap else "point") if figures else "")
    assert bool(proof) == bool(figures)
    mixed = [*cells, (9, Cell("0,25")), (10, Cell("0.25"))]
    assert decimal_sign(mixed) == ("", "")
