"""Blends taken apart: nothing is lost, nothing is invented, and what can't be done is said."""

from __future__ import annotations

from decimal import Decimal
from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from labbook.model.materials import Ingredient, Part
from labbook.model.sheets import Sheets
from labbook.trade.composition import resolve
from labbook.trade.expand import DEEPEST, contents_of, expand
from tests.trade.making import formula, line


def blend(name: str, **parts: str | None) -> Ingredient:
    own = tuple(
        Part(ingredient=one.replace("_", "-"), percent=None if p is None else Decimal(p))
        for one, p in parts.items()
    )
    return Ingredient(id=name, contains=own)


def held(*own: Ingredient) -> Sheets:
    return Sheets({sheet.id: sheet for sheet in own})


def shares(name: str, sheets: Sheets) -> dict[str, Fraction]:
    return {one.sheet: one.percent for one in contents_of(name, sheets).components}


PREMIX = blend("gum-premix", xanthan="5", glycerin="95")
STOCK = blend("thick-water", gum_premix="20", water="80")


def test_a_blend_of_blends_goes_down_to_its_components() -> None:
    found = contents_of("thick-water", held(PREMIX, STOCK))
    assert shares("thick-water", held(PREMIX, STOCK)) == {"xanthan": 1, "glycerin": 19, "water": 80}
    assert found.components[0].via == ("thick-water", "gum-premix")
    assert not found.gaps and not found.rests


def test_what_has_no_sheet_or_no_parts_stands_for_itself() -> None:
    for sheets in (Sheets(), held(Ingredient(id="oil"))):
        (own,) = contents_of("oil", sheets).components
        assert (own.ingredient, own.percent, own.via) == ("oil", Fraction(100), ())


def test_it_stops_where_it_is_told_to() -> None:
    found = contents_of("thick-water", held(PREMIX, STOCK), lambda s: s.id == "gum-premix")
    assert [one.sheet for one in found.components] == ["gum-premix", "water"]


def test_a_material_that_comes_in_twice_is_one() -> None:
    sheets = held(blend("a", b="50", oil="50"), blend("b", oil="40", wax="60"))
    assert shares("a", sheets) == {"oil": 70, "wax": 30}


@pytest.mark.parametrize(
    ("sheets", "rule", "said"),
    [
        (held(blend("a", a="10", oil="90")), "contains-itself", "leads back to a"),
        (held(blend("a", b="100"), blend("b", a="100")), "contains-itself", "leads back to a"),
        (held(blend("a", oil="60", wax="50")), "parts-over-100", "add up to 110 %"),
    ],
)
def test_what_cannot_be_taken_apart_stays_whole_and_is_said(
    sheets: Sheets, rule: str, said: str
) -> None:
    found = contents_of("a", sheets)
    assert [one.sheet for one in found.components] == ["a"]
    (gap,) = found.gaps
    assert gap.rule == rule and said in gap.what and gap.mend


def test_a_blend_near_it_is_taken_apart() -> None:
    assert not contents_of("a", held(blend("a", oil="60", wax="40"))).gaps
    assert not contents_of("a", held(blend("a", b="100"), blend("b", oil="100"))).gaps


def test_only_the_sheet_inside_a_circle_stays_whole() -> None:
    sheets = held(blend("top", a="50", oil="50"), blend("a", a="100"))
    assert shares("top", sheets) == {"a": 50, "oil": 50}


@pytest.mark.parametrize(
    ("sheet", "rule", "rest"),
    [
        (blend("a", oil="60"), "parts-short-of-100", 40),
        (blend("a", oil="60", resin=None), "part-without-percent", 40),
    ],
)
def test_a_rest_that_nobody_names_stays_open(sheet: Ingredient, rule: str, rest: int) -> None:
    found = contents_of("a", held(sheet))
    assert [(one.sheet, one.percent) for one in found.components] == [("oil", Fraction(60))]
    assert [(one.sheet, one.percent) for one in found.rests] == [("a", Fraction(rest))]
    assert [gap.rule for gap in found.gaps] == [rule]


def test_blends_without_end_are_cut_off_and_said() -> None:
    chain = [blend(f"b{n}", **{f"b{n + 1}": "100"}) for n in range(2000)]
    found = contents_of("b0", held(*chain))
    assert [gap.rule for gap in found.gaps] == ["blend-too-deep"]
    assert len(found.components[0].via) == DEEPEST


def test_many_ways_to_one_material_are_no_flood() -> None:
    sheets = held(*(blend(f"b{n}", **{f"b{n + 1}": "50", f"b{n + 2}": "50"}) for n in range(18)))
    assert sum(shares("b0", sheets).values()) == 100


def test_a_formula_keeps_lines_and_percents() -> None:
    sheets = held(PREMIX, STOCK)
    made = resolve(formula(A=[line("thick-water", "50")], B=[line("oil", "qs")]), sheets)
    found = expand(made, sheets)
    assert [(p.line, p.phase, p.sheet, p.percent) for p in found.pieces] == [
        (0, "A", "xanthan", Fraction("0.5")),
        (0, "A", "glycerin", Fraction("9.5")),
        (0, "A", "water", Fraction(40)),
        (1, "B", "oil", Fraction(50)),
    ]


def test_a_line_without_a_percent_leaves_its_components_without_one() -> None:
    sheets = held(PREMIX)
    found = expand(resolve(formula(A=[line("gum-premix"), line("xanthan", "1")]), sheets), sheets)
    assert found.totals() == {"xanthan": None, "glycerin": None}


# Laws ------------------------------------------------------------------------------------------

NAMES = [f"m{n}" for n in range(8)]


@st.composite
def books(draw: st.DrawFn) -> Sheets:
    """Sheets whose parts name later ones only, mostly adding up to 100."""
    sheets = []
    for number, name in enumerate(NAMES):
        later = draw(st.lists(st.sampled_from(NAMES[number + 1 :] or ["oil"]), max_size=3))
        cuts = sorted(draw(st.lists(st.integers(0, 100), max_size=3)))
        percents = [b - a for a, b in zip([0, *cuts], cuts, strict=False)]
        parts = dict(zip(later, map(str, percents), strict=False))
        sheets.append(blend(name, **parts))
    return held(*sheets)


@given(books(), st.integers(1, 99))
def test_taking_apart_keeps_the_sum(sheets: Sheets, percent: int) -> None:
    made = resolve(formula(A=[line("m0", str(percent)), line("m1", "qs")]), sheets)
    found = expand(made, sheets)
    for number, wanted in ((0, percent), (1, 100 - percent)):
        own = [p.percent for p in (*found.pieces, *found.rests) if p.line == number]
        assert sum((one or Fraction() for one in own), Fraction()) == wanted
    assert all(p.percent is not None and p.percent >= 0 for p in found.pieces)


@given(books(), st.integers(1, 100_000))
def test_weighing_a_blend_or_its_components_is_the_same(sheets: Sheets, grams: int) -> None:
    # So many grams of the blend, against its components weighed one by one and put together.
    inner = contents_of("m0", sheets)
    weighed = {c.sheet: grams * c.percent / 100 for c in (*inner.components, *inner.rests)}
    parts = (*inner.components, *inner.rests)
    assert sum(c.percent for c in parts) == 100
    back = {name: mass / grams * 100 for name, mass in weighed.items()}
    assert all(back[c.sheet] == c.percent for c in parts)


@given(books())
def test_what_is_taken_apart_has_no_parts_left(sheets: Sheets) -> None:
    for one in contents_of("m0", sheets).components:
        assert not contents_of(one.sheet, sheets).rests
        assert [c.sheet for c in contents_of(one.sheet, sheets).components] == [one.sheet]
