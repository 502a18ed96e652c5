"""What is left of a lot: its size less what was weighed of it, whatever the order."""

from collections.abc import Sequence
from dataclasses import replace
from datetime import date, timedelta
from decimal import Decimal
from fractions import Fraction
from typing import Any

from hypothesis import given
from hypothesis import strategies as st

from labbook.model.batch import Batch, Dropped, Parent, Weighing
from labbook.model.formula import Formula
from labbook.model.materials import Ingredient, Lot
from labbook.model.results.stock import BulkStock, IngredientStock, LotStock, Stock
from labbook.model.sheets import Sheets
from labbook.trade.stock import LONG_OPEN, SOON, stock
from tests.trade.making import batch, correction, exact, formula, grams, line, weighing

TODAY = date(2026, 4, 16)
OIL = "ingredient-a"
SHEETS = Sheets({OIL: Ingredient(id=OIL), "ingredient-b": Ingredient(id="ingredient-b")})
MASSES = st.decimals(Decimal("0.01"), Decimal(300), places=2).map(str)


def pack(size: str | None = "500", **more: Any) -> Lot:
    held = None if size is None else grams(size)
    return Lot(id="l-1", ingredient=OIL, size=held, **more)


def made(number: int, *weighings: Weighing, target: str | None = "10", **changes: Any) -> Batch:
    usual: dict[str, Any] = {"id": f"SBC-260109-{number}M", "state": "closed"}
    return replace(batch({"a": target}, weighings), **(usual | changes))


def of(batches: Sequence[Batch], formulas: dict[str, Formula] | None = None, **lots: Lot) -> Stock:
    by_id = {one.id: one for one in batches}
    return stock(by_id, lots, SHEETS, formulas or {}, TODAY)


def oil(found: Stock) -> IngredientStock:
    return next(one for one in found.ingredients if one.name == OIL)


def lot(found: Stock, name: str = "one") -> LotStock:
    return next(one for one in oil(found).lots if one.name == name)


def bulk(found: Stock) -> BulkStock:
    assert len(found.bulks) == 1
    return found.bulks[0]


# Laws -------------------------------------------------------------------------------------------


@given(st.lists(st.tuples(MASSES, st.booleans()), max_size=6), MASSES)
def test_left_and_used_are_the_size_and_struck_weighings_are_in_neither(
    weighed: list[tuple[str, bool]], size: str
) -> None:
    entries = [
        weighing(f"w{n}", "a", mass, lot="one", struck="slipped" if struck else None)
        for n, (mass, struck) in enumerate(weighed)
    ]
    found = lot(of([made(2, *entries)], one=pack(size)))
    assert found.left is not None
    assert found.left + found.used == Fraction(size)
    assert found.used == sum((Fraction(m) for m, struck in weighed if not struck), Fraction())


@given(st.lists(st.tuples(MASSES, st.sampled_from(["one", "two"])), max_size=6), st.randoms())
def test_order_of_weighings_and_how_they_lie_in_batches_is_immaterial(
    weighed: list[tuple[str, str]], chance: Any
) -> None:
    entries = [weighing(f"w{n}", "a", mass, lot=name) for n, (mass, name) in enumerate(weighed)]
    mixed = list(entries)
    chance.shuffle(mixed)
    cut = chance.randint(0, len(mixed))
    together = of([made(2, *entries)], one=pack(), two=pack("1000"))
    apart = of([made(3, *mixed[cut:]), made(2, *mixed[:cut])], one=pack(), two=pack("1000"))
    for name in ("one", "two"):
        a, b = lot(together, name), lot(apart, name)
        assert (a.left, a.used) == (b.left, b.used)
    assert oil(together).left == oil(apart).left


# Weighings as they stand --------------------------------------------------------------------------


def test_a_correction_moves_mass_and_lot() -> None:
    entries = (weighing("w1", "a", "10", lot="one"), weighing("w2", "a", "20", lot="one"))
    fixed = (correction("c1", "w1", "mass", "12.50"), correction("c2", "w2", "lot", "two"))
    found = of([made(2, *entries, corrections=fixed)], one=pack(), two=pack())
    assert lot(found).left == Fraction("487.5")
    assert lot(found, "two").left == 480


def test_a_weighing_taken_back_and_a_dropped_batch() -> None:
    struck = made(
        2,
        weighing("w1", "a", "10", lot="one"),
        corrections=(correction("c", "w1", "struck", "no"),),
    )
    gone = made(3, weighing("w1", "a", "7", lot="one"), dropped=Dropped(time=TODAY, why="spilt"))
    assert lot(of([struck, gone], one=pack())).left == 493


def test_a_lot_without_a_size_is_unknown_and_one_overdrawn_is_below_nothing() -> None:
    entry = weighing("w1", "a", "600", lot="one")
    assert lot(of([made(2, entry)], one=pack(None))).left is None
    found = of([made(2, entry)], one=pack("500"))
    assert lot(found).left == -100
    assert oil(found).left == 0  # what isn't there lends nothing to other packs


def test_a_mass_that_cannot_be_read_is_said() -> None:
    entries = (weighing("w1", "a", "10", lot="one"),)
    found = of([made(2, *entries, corrections=(correction("c", "w1", "mass", "ten"),))], one=pack())
    assert (lot(found).unread, lot(found).left) == (1, exact("500"))


def test_what_was_weighed_without_a_lot_is_said() -> None:
    found = of([made(2, weighing("w1", "a", "30"))], one=pack("500"))
    assert (oil(found).nameless, lot(found).left) == (exact("30"), exact("500"))


# What is wanted -----------------------------------------------------------------------------------


def test_open_batches_need_what_is_not_weighed_yet() -> None:
    full = made(2, state="open", target="80")
    part = made(3, weighing("w1", "a", "5", lot="one"), state="open", target="10")
    near = made(4, weighing("w1", "a", "9.98", lot="one"), state="open", target="10")
    gone = made(5, state="open", target="80", dropped=Dropped(time=TODAY, why="no"))
    parted = made(6, state="open", target="80", from_=(Parent(batch="SBC-260109-4M", how="split"),))
    found = oil(of([full, part, near, gone, parted], one=pack("500")))
    assert [(one.batch, one.mass) for one in found.needs] == [
        ("2M", exact("80")), ("3M", exact("5")),
    ]  # fmt: skip


def test_low_is_below_open_batches_and_one_usual_batch() -> None:
    """The formula takes 20 % of 100 g, the open batch 80 g: 100 g do, 99.99 g don't."""
    wanted = {"SBC": formula(A=[line(OIL, "20"), line("water", "80")])}
    open_one = [made(2, state="open", target="80")]
    for size, low in (("100", False), ("99.99", True)):
        found = oil(of(open_one, wanted, one=pack(size)))
        assert (found.usual, found.usual_of, found.low) == (exact("20"), "SBC", low)
    assert oil(of(open_one, wanted, one=pack("99"), two=pack(None))).low is None
    assert oil(of(open_one, wanted, one=pack("100"), two=pack(None))).low is False
    assert oil(of(open_one, wanted)).low is True  # needed, and nothing is there
    late = pack("500", expires=TODAY - timedelta(days=1))
    assert oil(of(open_one, wanted, one=late)).low is True
    assert oil(of(open_one, wanted, one=pack("500", used_up=TODAY))).low is True


def test_what_may_be_missing_makes_enough_uncertain() -> None:
    """100 g would do, but 1 g of it may have been weighed without the lot being named."""
    wanted = {"SBC": formula(A=[line(OIL, "20"), line("water", "80")])}
    batches = [made(2, state="open", target="80"), made(3, weighing("w1", "a", "1"))]
    assert oil(of(batches, wanted, one=pack("100"))).low is None
    assert oil(of(batches, wanted, one=pack("101"))).low is False


def test_formulas_without_a_lot_are_named() -> None:
    wanted = {"SBC": formula(A=[line(OIL, "20"), line("water", "80")])}
    assert of([], wanted, one=pack()).unwritten == ("water",)


# Age ----------------------------------------------------------------------------------------------


def test_days_before_and_after_the_day_on_the_pack() -> None:
    told = {}
    for days in (-1, 0, SOON, SOON + 1):
        one = lot(of([], one=pack(expires=TODAY + timedelta(days=days))))
        told[days] = (one.expired, one.expiring)
    assert told == {
        -1: (True, False), 0: (False, True), SOON: (False, True), SOON + 1: (False, False),
    }  # fmt: skip


def test_opened_long_ago() -> None:
    for days, old in ((LONG_OPEN - 1, False), (LONG_OPEN, True)):
        assert lot(of([], one=pack(opened=TODAY - timedelta(days=days)))).opened_long is old


# Batches that others are made from ----------------------------------------------------------------


def test_a_premix_is_its_yield_less_its_uses_and_counts_for_its_ingredient() -> None:
    premix = made(
        4, weighing("w1", "a", "60", lot="one"), weighing("w2", "a", "40", lot="one"),
        yield_=grams("98"),
    )  # fmt: skip
    user = made(5, weighing("w1", "a", "10", batch=premix.id))
    reworked = made(6, from_=(Parent(batch=premix.id, mass=grams("20"), how="rework"),))
    control = made(7, from_=(Parent(batch=premix.id, how="control"),))
    found = of([premix, user, reworked, control], one=pack("500"))
    told = bulk(found)
    assert [told.made, told.used, told.left] == [exact("98"), exact("30"), exact("68")]
    assert bulk(found).into == ("5M", "6M")
    assert lot(found).left == 400  # the premix took from the pack, its users didn't
    assert oil(found).left == 468
    assert oil(found).nameless == 0


def test_a_premix_without_a_yield_is_what_went_in_and_unknown_where_a_mass_is() -> None:
    premix = made(4, weighing("w1", "a", "60"))
    user = made(5, weighing("w1", "a", "10", batch=premix.id))
    assert bulk(of([premix, user])).left == 50
    unread = replace(premix, corrections=(correction("c", "w1", "mass", "?"),))
    assert bulk(of([unread, user])).left is None
