"""Two sheets side by side: turning them round swaps the sides; a figure nobody gave is unknown."""

from __future__ import annotations

from decimal import Decimal
from typing import Any

from hypothesis import given
from hypothesis import strategies as st

from labbook.model.materials import Ingredient, Value
from labbook.trade.likeness import candidates, likeness


def oil(**more: Any) -> Ingredient:
    keys: dict[str, Any] = {"id": "oil", "functions": ("oil",), "soluble_in": "oil", **more}
    return Ingredient(**keys)


def value(text: str, unit: str = "°C") -> Value:
    return Value(value=Decimal(text), unit=unit)


numbers = st.none() | st.decimals(min_value=-50, max_value=200, places=1)
values = st.none() | st.builds(
    Value, value=numbers, from_=numbers, to=numbers, unit=st.sampled_from(("°C", "%", None))
)
sheets = st.builds(
    oil,
    functions=st.lists(st.sampled_from(("oil", "wax", "emulsifier")), unique=True).map(tuple),
    soluble_in=st.sampled_from((None, "oil", "water")),
    charge=st.sampled_from((None, "nonionic", "anionic")),
    melting_point=values,
    HLB=values,
    pH_window=values,
)


@given(sheets, sheets)
def test_turning_it_round_swaps_the_sides(a: Ingredient, b: Ingredient) -> None:
    there, back = likeness("a", a, "b", b), likeness("b", b, "a", a)
    for name in ("alike", "differs", "unknown"):
        mine, others = getattr(there, name), getattr(back, name)
        assert [(t.what, t.second, t.first) for t in mine] == [
            (t.what, t.first, t.second) for t in others
        ]


@given(sheets)
def test_an_ingredient_is_like_itself(a: Ingredient) -> None:
    found = likeness("a", a, "a", a)
    assert not found.differs
    assert not found.unknown


def test_what_one_sheet_does_not_say_is_unknown_and_no_difference() -> None:
    found = likeness("a", oil(melting_point=value("5")), "b", oil())
    assert [t.what for t in found.unknown] == ["melting point"]
    assert not found.differs


def test_ranges_that_meet_are_alike_and_far_ones_are_not() -> None:
    wide = Value(from_=Decimal(60), to=Decimal(64), unit="°C")
    near = likeness("a", oil(melting_point=wide), "b", oil(melting_point=value("63")))
    far = likeness("a", oil(melting_point=wide), "b", oil(melting_point=value("80")))
    assert [t.what for t in near.alike if t.what == "melting point"]
    assert [t.what for t in far.differs] == ["melting point"]


def test_what_dissolves_elsewhere_or_is_charged_otherwise_is_no_candidate() -> None:
    shelf = {
        "twin": oil(id="twin"),
        "in-water": oil(id="in-water", soluble_in="water"),
        "wax": oil(id="wax", functions=("wax",)),
    }
    assert [one.second for one in candidates("oil", oil(), shelf)] == ["twin"]
    salt = oil(id="x", functions=("emulsifier",), charge="anionic")
    other = {"y": oil(id="y", functions=("emulsifier",), charge="cationic")}
    assert candidates("x", salt, other) == ()


@given(st.permutations(["a", "b", "c", "d"]))
def test_the_order_of_the_shelf_is_immaterial(order: list[str]) -> None:
    points = {"a": "5", "b": "30", "c": "5.1", "d": "70"}
    shelf = {name: oil(id=name, melting_point=value(points[name])) for name in order}
    found = candidates("oil", oil(melting_point=value("5")), shelf)
    assert [one.second for one in found] == ["a", "c", "b", "d"]
