from __future__ import annotations

from dataclasses import replace
from decimal import Decimal
from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from labbook.model.materials import Ingredient, Value
from labbook.model.quantities import parse_quantity
from labbook.model.sheets import Sheets
from labbook.trade.between import Between, share_of
from labbook.trade.composition import resolve
from labbook.trade.volume import (
    density,
    internal_phase,
    phase_volumes,
    water_density,
    water_phase_by_volume,
)
from tests.trade.making import formula, line, value


def grams_per_ml(text: str, at: str | None = "20 °C") -> Value:
    return replace(value(text, "g/ml"), at=parse_quantity(at) if at else None)


WATER = Ingredient(
    id="water", functions=("water",), soluble_in="water", density=grams_per_ml("0.9982")
)
OIL = Ingredient(id="oil", soluble_in="oil", physical="liquid", density=grams_per_ml("0.916-0.923"))
SHEETS = Sheets({"water": WATER, "oil": OIL})


def test_a_density_counts_near_where_it_was_measured_only() -> None:
    for celsius in (15, 20, 25):
        assert density(OIL, Fraction(celsius)) == Between(Fraction("0.916"), Fraction("0.923"))
    assert density(OIL, Fraction(26)) is density(OIL, Fraction(14)) is None


def test_a_solid_keeps_its_density_until_it_may_melt() -> None:
    wax = Ingredient(
        id="wax",
        physical="solid",
        density=grams_per_ml("0.96"),
        melting_point=value("62-65", "°C"),
    )
    assert density(wax, Fraction(61)) is not None
    assert density(wax, Fraction(62)) is None
    assert density(replace(wax, melting_point=None), Fraction(29)) is not None
    assert density(replace(wax, melting_point=None), Fraction(31)) is None


@pytest.mark.parametrize(
    "given_density",
    [
        grams_per_ml("0.9", None),
        replace(grams_per_ml("0.9"), unit="kg/m3"),
        replace(grams_per_ml("0.9"), at=parse_quantity("20 min")),
        grams_per_ml("0"),
    ],
)
def test_a_figure_that_cannot_be_used_is_none(given_density: Value) -> None:
    assert density(replace(OIL, density=given_density)) is None
    assert density(None) is None


def test_expansion_with_a_range_widens_the_range() -> None:
    growing = replace(OIL, expansion=value("0.0006-0.0008", "per °C"))
    found = density(growing, Fraction(70))
    assert found == Between(
        Fraction("0.916") / Fraction("1.04"), Fraction("0.923") / Fraction("1.03")
    )
    impossible = replace(OIL, expansion=value("0.5", "per °C"))
    assert density(impossible, Fraction(0)) is None


def test_water_has_its_own_formula() -> None:
    assert density(WATER) == Between.exactly(Fraction("0.9982"))
    assert density(WATER, Fraction(70)) == Between.exactly(
        water_density(Fraction(70)) or Fraction()
    )
    assert water_density(Fraction(-1)) is water_density(Fraction(101)) is None


def test_an_unknown_density_makes_a_range_and_is_named() -> None:
    made = resolve(
        formula(A=[line("oil", "20"), line("resin", "5")], B=[line("water", "qs")]), SHEETS
    )
    oil, water = phase_volumes(made, SHEETS)
    assert oil.guessed == ("resin",) and water.guessed == ()
    assert oil.share is not None and water.share is not None
    assert oil.share.least < oil.share.most
    known = resolve(formula(A=[line("oil", "25")], B=[line("water", "qs")]), SHEETS)
    whole = phase_volumes(known, SHEETS)[0].share
    assert whole is not None
    assert oil.share.least <= whole.least <= whole.most <= oil.share.most


def test_a_percent_that_is_missing_leaves_volumes_unknown() -> None:
    made = resolve(formula(A=[line("oil")], B=[line("water", "70")]), SHEETS)
    assert [one.share for one in phase_volumes(made, SHEETS)] == [None, None]
    assert internal_phase("water-in-oil", made, SHEETS) is None


@pytest.mark.parametrize("emulsion", ["anhydrous", "gel", "solution", "surfactant", ""])
def test_what_is_no_emulsion_has_no_internal_phase(emulsion: str) -> None:
    made = resolve(formula(A=[line("oil", "20")], B=[line("water", "qs")]), SHEETS)
    assert internal_phase(emulsion, made, SHEETS) is None


def test_lines_added_later_go_where_they_dissolve() -> None:
    both = Ingredient(id="both", soluble_in="both")
    sheets = Sheets({"water": WATER, "oil": OIL, "both": both})
    phases = {"A": [line("oil", "20")], "B": [line("water", "qs")]}
    plain = resolve(formula(**phases, C=[line("oil", "5")]), sheets)
    found = internal_phase("oil-in-water", plain, sheets)
    assert found is not None and found.by_mass == Between.exactly(Fraction(25))
    unsure = resolve(formula(**phases, C=[line("both", "5")]), sheets)
    either = internal_phase("oil-in-water", unsure, sheets)
    assert either is not None and either.by_mass == Between(Fraction(20), Fraction(25))
    mixed = resolve(formula(**phases, C=[line("both", "5"), line("oil", "1")]), sheets)
    with_oil = internal_phase("oil-in-water", mixed, sheets)
    assert with_oil is not None and with_oil.by_mass == Between.exactly(Fraction(26))


PERCENTS = st.decimals("0.5", "90", places=1)


@given(PERCENTS)
def test_the_two_sides_of_an_emulsion_are_the_whole(oil: Decimal) -> None:
    made = resolve(formula(A=[line("oil", str(oil))], B=[line("water", "qs")]), SHEETS)
    inner, outer = (internal_phase(kind, made, SHEETS) for kind in ("water-in-oil", "oil-in-water"))
    assert inner is not None and outer is not None
    assert inner.by_volume is not None and outer.by_volume is not None
    assert inner.by_volume.least + outer.by_volume.most == 100
    assert inner.by_mass.least + outer.by_mass.most == 100
    assert water_phase_by_volume(made, SHEETS) == inner.by_volume


@given(PERCENTS, st.integers(0, 100))
def test_a_lighter_phase_takes_more_room_than_its_weight(oil: Decimal, celsius: int) -> None:
    sheets = Sheets({"water": WATER, "oil": replace(OIL, expansion=value("0.0007", "per °C"))})
    made = resolve(formula(A=[line("oil", str(oil))], B=[line("water", "qs")]), sheets)
    share = phase_volumes(made, sheets, Fraction(celsius))[0].share
    assert share is not None and share.least > Fraction(oil)


FIGURES = st.fractions(min_value=0, max_value=100)


@given(FIGURES, FIGURES, FIGURES, FIGURES)
def test_a_share_holds_every_share_within_its_bounds(
    a: Fraction, b: Fraction, c: Fraction, d: Fraction
) -> None:
    part, rest = Between(min(a, b), max(a, b)), Between(min(c, d), max(c, d))
    found = share_of(part, rest)
    if found is None:
        return
    middle = (part.least + part.most) / 2, (rest.least + rest.most) / 2
    assert found.least <= middle[0] / sum(middle) * 100 <= found.most
