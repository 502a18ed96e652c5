from __future__ import annotations

from dataclasses import replace
from decimal import Decimal
from fractions import Fraction

from hypothesis import given
from hypothesis import strategies as st

from labbook.model.formula import Line
from labbook.model.materials import Ingredient, Part
from labbook.model.sheets import Sheets
from labbook.trade.composition import resolve
from labbook.trade.electrolyte import Electrolyte, common_name, electrolyte, molality
from tests.trade.making import formula, line, value

WATER = Ingredient(id="water", functions=("water",), chemical_formula="H2O", soluble_in="water")
OIL = Ingredient(id="oil", functions=("oil",), soluble_in="oil")
SALT = Ingredient(
    id="sodium-chloride",
    functions=("electrolyte",),
    soluble_in="water",
    water_content=value("0"),
    molar_mass=value("58.443", "g/mol"),
    ions={"Na+": 1, "Cl-": 1},
)
GLYCERIN = Ingredient(
    id="glycerin", soluble_in="water", water_content=value("0"), molar_mass=value("92.094", "g/mol")
)


def cream(*own: Ingredient, b: list[Line], a: str = "20") -> Electrolyte:
    sheets = Sheets({sheet.id: sheet for sheet in (WATER, OIL, *own)})
    made = resolve(formula(A=[line("oil", a)], B=[*b, line("water", "qs")]), sheets)
    return electrolyte(made, sheets)


def test_a_salt_per_formula_per_water_phase_and_per_water() -> None:
    found = cream(SALT, GLYCERIN, b=[line("sodium-chloride", "0.8"), line("glycerin", "4")])
    (salt,) = found.salts
    assert salt.per_formula == Fraction("0.8") / Fraction("58.443") * 10_000
    assert salt.per_water_phase == salt.per_formula / Fraction("0.8")
    assert salt.molality is not None and salt.molality.exact
    assert salt.molality.least == salt.per_formula / Fraction("0.752")
    assert salt.main


def test_water_that_nobody_knows_makes_a_range() -> None:
    juice = Ingredient(id="juice", soluble_in="water")
    found = cream(SALT, juice, b=[line("sodium-chloride", "1"), line("juice", "10")])
    (salt,) = found.salts
    assert salt.molality is not None and salt.molality.least < salt.molality.most
    assert found.ionic_strength is not None and not found.ionic_strength.exact


def test_a_salt_without_ions_leaves_the_ionic_strength_unknown() -> None:
    silent = replace(SALT, ions=None)
    found = cream(silent, b=[line("sodium-chloride", "1")])
    assert found.ionic_strength is None
    assert found.osmolality is None
    assert found.left_out == (("sodium-chloride", "no ions on its sheet"),)
    assert found.salts[0].per_formula is not None


def test_a_salt_without_a_molar_mass_has_no_amount() -> None:
    found = cream(replace(SALT, molar_mass=None), b=[line("sodium-chloride", "1")])
    (salt,) = found.salts
    assert salt.per_formula is salt.per_water_phase is None
    assert salt.molality is None
    assert found.ionic_strength is None
    assert dict(found.left_out)["sodium-chloride"] == "its amount isn't known"


def test_a_weak_acid_counts_as_a_particle_and_is_named() -> None:
    acid = Ingredient(
        id="acid",
        soluble_in="water",
        water_content=value("0"),
        molar_mass=value("100", "g/mol"),
        pKa=value("4", None),
    )
    found = cream(acid, b=[line("acid", "1")])
    assert found.salts == ()
    assert found.left_out == (("acid", "a weak acid or its salt, no ions on its sheet"),)
    assert found.osmolality is not None
    assert found.osmolality.least == Fraction(1, 100) / 79 * 1000


def test_what_dissolves_in_both_is_none_to_all() -> None:
    both = Ingredient(
        id="both", soluble_in="both", water_content=value("0"), molar_mass=value("100", "g/mol")
    )
    found = cream(both, b=[line("both", "1")])
    assert found.osmolality is not None
    assert (found.osmolality.least, found.osmolality.most) == (Fraction(), Fraction(10, 79))


def test_grades_of_a_salt_are_one_salt() -> None:
    ions = {"Mg2+": 1, "SO4 2-": 1}
    wet = replace(SALT, id="magnesium-sulfate-heptahydrate", ions=ions)
    dry = replace(SALT, id="magnesium-sulfate-anhydrous", ions=ions)
    found = cream(wet, dry, b=[line(wet.id, "1"), line(dry.id, "1")])
    (salt,) = found.salts
    assert salt.name == "magnesium-sulfate"
    assert salt.ingredients == (wet.id, dry.id)


def test_a_salt_in_a_solution_is_found() -> None:
    brine = Ingredient(
        id="brine",
        soluble_in="water",
        contains=(
            Part(ingredient="sodium-chloride", percent=Decimal(10)),
            Part(ingredient="water", percent=Decimal(90)),
        ),
    )
    weighed = cream(SALT, b=[line("sodium-chloride", "0.5")])
    poured = cream(SALT, brine, b=[line("brine", "5")])
    assert weighed.salts == poured.salts
    assert weighed.ionic_strength == poured.ionic_strength


def test_a_formula_without_water_has_no_molality() -> None:
    sheets = Sheets({"oil": OIL, "sodium-chloride": SALT})
    made = resolve(formula(A=[line("oil", "99"), line("sodium-chloride", "1")]), sheets)
    found = electrolyte(made, sheets)
    assert found.salts[0].molality is found.ionic_strength is found.osmolality is None
    assert not found.has_water_phase


def test_names_of_grades_share_a_name() -> None:
    assert common_name(["sea-salt"]) == "sea-salt"
    assert common_name(["salt", "brine"]) == "salt / brine"


@given(st.decimals("0.1", "10", places=2), st.decimals("0.1", "10", places=2))
def test_more_salt_in_the_same_water_is_more_in_proportion(one: Decimal, other: Decimal) -> None:
    # Two formulas with the same water: the salt takes the place of oil.
    def strength(amount: Decimal) -> Fraction:
        sheets = Sheets({s.id: s for s in (WATER, OIL, SALT)})
        lines = [line("sodium-chloride", str(amount)), line("water", "30")]
        made = resolve(formula(A=[line("oil", "qs")], B=lines), sheets)
        found = electrolyte(made, sheets).ionic_strength
        assert found is not None and found.exact
        return found.least

    assert strength(one) / strength(other) == Fraction(one) / Fraction(other)
    assert strength(one) == molality(Fraction(one), Fraction("58.443"), Fraction(30))
