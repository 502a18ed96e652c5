"""Costs from packs: exact, by the newest pack, and never more certain than the packs are."""

from __future__ import annotations

from datetime import date
from decimal import Decimal
from fractions import Fraction
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from labbook.model.materials import Lot
from labbook.model.sheets import Sheets
from labbook.trade.cost import (
    Portion,
    cost_lines,
    money,
    newest,
    per_gram,
    price_of,
    shared,
    totals,
)
from tests.trade.making import grams


def lot(ingredient: str, price: str | None, size: str | None, **more: Any) -> Lot:
    own = None if size is None else grams(size)
    return Lot(id="l-1", ingredient=ingredient, price=price, size=own, **more)


@pytest.mark.parametrize(
    ("text", "amount", "currency"),
    [
        ("12.50 EUR", "12.50", "EUR"), ("EUR 12.50", "12.50", "EUR"), ("€12,50", "12.50", "EUR"),
        ("12,50 €", "12.50", "EUR"), ("£ 4.20", "4.20", "GBP"), ("8 USD", "8", "USD"),
        ("$8", "8", "$"), ("1,250.00 eur", "1250.00", "EUR"), ("0.99 chf", "0.99", "CHF"),
        ("12.50  EUR", "12.50", "EUR"),
    ],
)  # fmt: skip
def test_a_price_as_makers_write_it(text: str, amount: str, currency: str) -> None:
    price = price_of(text)
    assert price is not None
    assert (f"{price.amount:f}", price.currency) == (amount, currency)


@pytest.mark.parametrize(
    "text",
    ["1,250 EUR", "12.50", "EUR", "", "free", "12.50 EUR per kg", "EUR 12.50 EUR", "-3 EUR",
     "12..50 EUR", "9" * 40 + " EUR", "12.50 12 EUR"],
)  # fmt: skip
def test_a_price_that_says_too_little_is_none(text: str) -> None:
    assert price_of(text) is None


def test_a_price_per_gram_is_exact() -> None:
    assert per_gram(lot("oil", "10.00 EUR", "3 kg"))[:2] == (Fraction(1, 300), "EUR")
    assert per_gram(lot("oil", None, "1 kg"))[2] == "no price written"
    assert per_gram(lot("oil", "3 EUR", None))[2] == "no size written"
    assert "like 12.50 EUR" in per_gram(lot("oil", "cheap", "1 kg"))[2]
    assert per_gram(lot("oil", "3 EUR", "0 g"))[2] == "its size is 0"


LOTS = {
    "old": lot("oil", "9 EUR", "1 kg", opened=date(2025, 1, 1), used_up=date(2025, 9, 1)),
    "now": lot("oil", "10 EUR", "1 kg", opened=date(2025, 9, 1)),
    "later": lot("oil", "20 EUR", "1 kg", bought=date(2026, 1, 1)),
    "free": lot("honey", None, "500 g"),
}


def test_the_pack_in_use_counts() -> None:
    assert newest(LOTS, "oil", Sheets()) == ("now", "later", "old")
    (line,) = cost_lines([Portion("oil", Fraction(50))], LOTS, Sheets())
    assert (line.lot, line.cost, line.assumed) == ("now", Fraction(1, 2), True)


def test_the_pack_that_was_written_down_counts_and_no_other() -> None:
    (line,) = cost_lines([Portion("oil", Fraction(50), "old")], LOTS, Sheets())
    assert (line.cost, line.assumed) == (Fraction(9, 20), False)
    (lost,) = cost_lines([Portion("oil", Fraction(50), "gone")], LOTS, Sheets())
    assert lost.cost is None
    assert lost.why == "its lot gone is not in the notebook"


def test_a_pack_without_price_gives_way_to_one_with() -> None:
    lots = {**LOTS, "new": lot("oil", None, "1 kg", opened=date(2026, 2, 1))}
    assert newest(lots, "oil", Sheets())[0] == "new"
    assert cost_lines([Portion("oil", Fraction(50))], lots, Sheets())[0].lot == "now"


def test_what_has_no_price_says_why() -> None:
    found = cost_lines(
        [Portion("honey", Fraction(5)), Portion("clay", Fraction(5)), Portion("oil", None)],
        LOTS,
        Sheets(),
    )
    assert [line.why for line in found] == [
        "lot free: no price written", "no lot in the notebook", "its amount isn't known",
    ]  # fmt: skip
    assert totals(found) == ()


def test_currencies_are_kept_apart() -> None:
    lots = {**LOTS, "wax": lot("wax", "$5", "100 g")}
    portions = [Portion("oil", Fraction(100)), Portion("wax", Fraction(2))]
    assert totals(cost_lines(portions, lots, Sheets())) == (
        ("$", Fraction(1, 10)), ("EUR", Fraction(1)),
    )  # fmt: skip


def test_jars_carry_the_whole_cost() -> None:
    sums = (("EUR", Fraction(3)),)
    by_mass = shared(sums, [("1", Fraction(30)), ("2", Fraction(60))])
    assert [one.cost for one in by_mass] == [1, 2]
    even = shared(sums, [("1", Fraction(30)), ("2", None)])
    assert [(one.cost, one.even) for one in even] == [(Fraction(3, 2), True)] * 2


def test_money_is_rounded_once() -> None:
    # A half goes to the even cent, as decimal arithmetic does (IEEE 754, roundTiesToEven).
    assert [money(Fraction(n, 1000)) for n in (5, 15, 25, 4, 0, 1234)] == [
        "under 0.01", "0.02", "0.02", "under 0.01", "0.00", "1.23",
    ]  # fmt: skip


PRICES = st.decimals("0.01", "99", places=2)
PORTION = st.tuples(st.sampled_from("abcd"), st.integers(1, 10_000))
PORTIONS = st.lists(PORTION, min_size=1, max_size=9)


@given(st.dictionaries(st.sampled_from("abcd"), PRICES), PORTIONS, st.randoms())
def test_the_total_is_the_sum_in_any_order_of_lines_and_packs(
    prices: dict[str, Decimal], portions: list[tuple[str, int]], chance: Any
) -> None:
    lots = {f"lot-{name}": lot(name, f"{price} EUR", "250 g") for name, price in prices.items()}
    wanted = [Portion(name, Fraction(mass, 100)) for name, mass in portions]
    found = cost_lines(wanted, lots, Sheets())
    exact = sum(
        (Fraction(prices[name]) / 250 * mass / 100 for name, mass in portions if name in prices),
        Fraction(),
    )
    assert dict(totals(found)).get("EUR", 0) == exact
    turned = list(lots.items())
    chance.shuffle(turned)
    chance.shuffle(wanted)
    assert totals(cost_lines(wanted, dict(turned), Sheets())) == totals(found)
    assert [line.cost is None for line in found] == [name not in prices for name, _ in portions]
