"""What two batches were really made of, held against each other: losses, parts, premixes."""

from __future__ import annotations

from dataclasses import replace
from decimal import Decimal
from fractions import Fraction
from typing import Any

import pytest

from labbook.evidence.batches import BatchDifference, batch_difference
from labbook.evidence.made import made_of
from labbook.model.batch import Batch, Parent, Reading
from labbook.model.quantities import parse_quantity as q
from tests.evidence.test_batches import EQUIPMENT, LOTS, SHEETS, batch

WATER = "water"


def said(name: str, of: str, figure: str) -> Reading:
    return Reading(id=f"r-{name[:4]}", reading=name, of=of, value=Decimal(figure), unit="g")


def compared(a: Batch, b: Batch, **more: Any) -> BatchDifference:
    b = replace(b, id="SBC-260122-9T")
    return batch_difference(a, b, None, SHEETS, EQUIPMENT, LOTS, **more)


def words(found: BatchDifference) -> dict[str, tuple[str, str | None, str | None]]:
    return {one.what: (one.word, one.a, one.b) for one in found.items}


def test_what_went_off_is_told_and_the_rest_follows_from_it() -> None:
    dry = replace(batch(), readings=(said("evaporated", "B", "10"),))
    moist = replace(batch(), readings=(said("evaporated", "B", "1"),))
    found = words(compared(moist, dry))
    assert found["went off while heated"] == ("changed", "1.0", "10.0")
    # 4.50 g of 99 and of 90 g
    assert found["polyglyceryl-3-diisostearate"] == ("follows", "4.55", "5.00")
    assert found["water, q.s."][0] == "follows"


def test_a_vessel_is_compared_by_what_it_lost_and_not_by_its_own_weight() -> None:
    one = replace(batch(), readings=(said("mass before heating", "B", "240"),))
    other = replace(batch(), readings=(said("mass before heating", "B", "260"),))
    found = compared(one, other)
    assert not [item for item in (*found.items, *found.unrecorded) if item.part == "readings"]


@pytest.mark.parametrize(("first", "second", "told"), [
    ("96", "96", True),  # both lost alike: the water may be as low in both
    (None, "96", True),  # nobody knows what the one lost
    ("96", "90", False),  # the one may have lost more water: then its percents are others
])  # fmt: skip
def test_what_is_unexplained_of_both_goes_the_same_way(
    first: str | None, second: str, *, told: bool
) -> None:
    one = replace(batch(), yield_=None if first is None else q(f"{first} g"))
    other = replace(batch(l1="23.10", l3="71.60"), yield_=q(f"{second} g"))
    found = words(compared(one, other))
    assert ("water, q.s." in found) is told
    assert ("sunflower-oil" in found) is told


def test_an_unexplained_loss_changes_no_percent() -> None:
    lost = replace(batch(), yield_=q("90 g"))
    plain = made_of(batch(), SHEETS, EQUIPMENT).amounts
    for key, amount in made_of(lost, SHEETS, EQUIPMENT).amounts.items():
        assert amount.percent == plain[key].percent
        assert amount.variance == plain[key].variance
        assert amount.shift is not None
        assert plain[key].shift is None
    assert sum(a.shift or 0 for a in made_of(lost, SHEETS, EQUIPMENT).amounts.values()) == 0


def test_a_part_is_compared_by_what_it_came_from() -> None:
    whole = batch()
    part = replace(
        whole, id="SBC-260122-9T", weighings=(), size=q("50 g"),
        from_=(Parent(batch=whole.id, mass=q("50 g"), how="split"),),
    )  # fmt: skip
    held = {whole.id: whole}
    amounts = made_of(part, SHEETS, EQUIPMENT, held).amounts
    wanted = made_of(whole, SHEETS, EQUIPMENT).amounts
    assert {k: a.percent for k, a in amounts.items()} == {k: a.percent for k, a in wanted.items()}
    alone = made_of(part, SHEETS, EQUIPMENT).amounts
    assert {a.percent for a in alone.values()} == {None}
    found = compared(whole, part, batches=held)
    assert not [one for one in (*found.items, *found.unrecorded) if one.part == "lines"]


def test_what_a_premix_brings_stands_on_its_own_lines() -> None:
    premix = replace(batch(l1="0", l2="0", l3="75.00", l4="25.00"), id="SAL-260108-5C", readings=())
    salt = next(w for w in batch().weighings if w.line == "l4")
    from_premix = replace(salt, mass=q("3.20 g"), batch=premix.id)
    others = tuple(
        replace(w, mass=q("68.20 g")) if w.line == "l3" else w
        for w in batch().weighings if w.line != "l4"
    )  # fmt: skip
    mixed = replace(batch(), weighings=(*others, from_premix))
    amounts = made_of(mixed, SHEETS, EQUIPMENT, {premix.id: premix}).amounts
    assert amounts["B", "salt"].percent == Fraction("0.8")
    assert amounts["B", WATER].percent == Fraction("70.6")
    assert amounts["B", "salt"].lots == frozenset({premix.id})
