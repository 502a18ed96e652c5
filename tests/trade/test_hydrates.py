from __future__ import annotations

from decimal import Decimal
from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from labbook.model.materials import Ingredient, Part
from labbook.model.sheets import Sheets
from labbook.trade.hydrates import hydrate_by_formula, hydrate_of, same_grams, same_salt
from labbook.trade.molar import charge_of, charges_of, molar_mass, molar_mass_of
from tests.trade.making import value

MASSES = st.fractions(min_value=1, max_value=1000)
WATER = Ingredient(id="water", functions=("water",))
DRY = Ingredient(id="salt-anhydrous", chemical_formula="MgSO4", ions={"Mg2+": 1, "SO4 2-": 1})
WET = Ingredient(
    id="salt-heptahydrate",
    chemical_formula="MgSO4·7H2O",
    ions={"Mg2+": 1, "SO4 2-": 1},
    contains=(
        Part(ingredient="salt-anhydrous", percent=Decimal("48.84")),
        Part(ingredient="water", percent=Decimal("51.16")),
    ),
)
SHEETS = Sheets({sheet.id: sheet for sheet in (WATER, DRY, WET)})


@given(MASSES)
def test_there_and_back_is_where_it_began(amount: Fraction) -> None:
    found = hydrate_of(WET, SHEETS)
    assert found is not None
    assert found.as_hydrate(found.as_anhydrous(amount)) == amount
    assert found.as_anhydrous(amount) + found.water_in(amount) == amount


@given(MASSES, st.fractions(min_value=Fraction(1, 10), max_value=500))
def test_a_share_lies_between_nothing_and_all(dry: Fraction, water: Fraction) -> None:
    assert 0 < hydrate_by_formula(dry + water, dry) < 1


def test_molar_masses_count_before_the_percent_of_the_sheet() -> None:
    found = hydrate_of(WET, SHEETS)
    assert found is not None and found.from_molar_masses
    assert found.share != Fraction("0.4884")


def test_without_the_other_sheet_the_percent_counts() -> None:
    found = hydrate_of(WET, Sheets({"salt-heptahydrate": WET}))
    assert found is not None and not found.from_molar_masses
    assert found.share == Fraction("0.4884")


def test_a_solution_is_no_hydrate() -> None:
    solution = Ingredient(id="solution", contains=WET.contains)
    assert hydrate_of(solution, SHEETS) is None
    assert hydrate_of(DRY, SHEETS) is hydrate_of(None, SHEETS) is None


def test_a_hydrate_that_is_lighter_is_refused() -> None:
    with pytest.raises(ValueError, match="weighs more"):
        hydrate_by_formula(Fraction(100), Fraction(120))


def test_grades_of_one_salt_are_the_same_salt() -> None:
    assert same_salt(WET, DRY, SHEETS)
    assert not same_salt(WET, WET, SHEETS)
    other = Ingredient(id="table-salt", chemical_formula="NaCl", ions={"Na+": 1, "Cl-": 1})
    assert not same_salt(WET, other, SHEETS)
    assert same_grams(WET, other, SHEETS) == ""


def test_grades_are_told_by_their_parts_where_nobody_wrote_the_ions() -> None:
    bare = Ingredient(id=WET.id, chemical_formula=WET.chemical_formula, contains=WET.contains)
    assert same_salt(bare, DRY, SHEETS)
    assert same_grams(DRY, bare, SHEETS) == "same grams, half the salt"


def test_molar_mass_of_a_sheet_is_its_figure_first() -> None:
    own = Ingredient(id="x", chemical_formula="NaCl", molar_mass=value("60", "g/mol"))
    assert molar_mass(own) == 60
    for figure in (value("50-70", "g/mol"), value("60", "kg/mol"), value("0", "g/mol")):
        assert molar_mass(Ingredient(id="x", chemical_formula="NaCl", molar_mass=figure)) is None
    assert molar_mass(Ingredient(id="x")) is molar_mass(None) is None


@pytest.mark.parametrize(
    "text", ["", "Xx2", "Mg(OH", "MgOH)2", "2(", "·", "H2O·", "sand", "C6H8O7 and water", "C99999"]
)
def test_what_is_no_chemical_formula_has_no_mass(text: str) -> None:
    assert molar_mass_of(text) is None


@pytest.mark.parametrize(
    "ions", [{}, {"Na+": 1}, {"Na+": 1, "Cl": 1}, {"Na+": 2, "Cl-": 1}, {"Na+": 0, "Cl-": 0}]
)
def test_ions_that_do_not_cancel_count_as_unknown(ions: dict[str, int]) -> None:
    assert charges_of(ions) is None


def test_a_charge_after_a_space_is_as_written() -> None:
    assert charge_of("C6H13 +") == 1
    assert charge_of("Fe 3+") == charge_of("Fe3+") == 3
    assert charge_of("salt") is None
