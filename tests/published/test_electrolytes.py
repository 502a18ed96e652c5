"""Molar masses, hydrates, molality, ionic strength and osmolality against printed values.

A row's source stands beside it. "molmass" is the PyPI package molmass 2026.1.8.
"""

from __future__ import annotations

from fractions import Fraction

import molmass
import pytest

from labbook.model.materials import Ingredient
from labbook.model.sheets import Sheets
from labbook.trade.composition import resolve
from labbook.trade.electrolyte import (
    electrolyte,
    ionic_strength,
    ionic_strength_of,
    molality,
    particles,
)
from labbook.trade.hydrates import hydrate_by_formula, hydrate_of
from labbook.trade.molar import WEIGHTS, charge_of, charges_of, molar_mass_of
from tests.published.agreement import holds, refused
from tests.published.test_starter_values import sheet_of
from tests.trade.making import formula, line

# molmass 2026.1.8: molmass.Formula(f).mass
MASSES = [
    ("H2O", "18.0153"),
    ("NaCl", "58.4427"),
    ("MgSO4", "120.3675"),
    ("MgSO4·7H2O", "246.4745"),
    ("CaCl2", "110.9838"),
    ("CaCl2·2H2O", "147.0144"),
    ("MgCl2·6H2O", "203.3026"),
    ("C6H8O7", "192.1238"),
    ("C6H8O7·H2O", "210.1391"),
]
# Printed in tables: sodium benzoate 144.11 and sorbic acid 112.13 g/mol
# (bcchemstore.com/product/sodium-benzoate-ZKYXP8; m.chemicalbook.com/CASEN_110-44-1.htm).
PRINTED_MASSES = [("NaC7H5O2", "144.11"), ("C6H8O2", "112.13")]


@pytest.mark.parametrize(("text", "mass"), MASSES + PRINTED_MASSES)
def test_molar_masses(text: str, mass: str) -> None:
    holds(molar_mass_of(text), mass, "0.01")


@pytest.mark.parametrize("element", sorted(WEIGHTS))
def test_atomic_weights_are_those_of_molmass(element: str) -> None:
    assert float(WEIGHTS[element]) == pytest.approx(molmass.Formula(element).mass, abs=0.005)


def test_a_dotted_hydrate_is_not_read_as_one_molecule() -> None:
    # The PyPI package periodictable 2.1.0 reads O4.7 in "MgSO4.7H2O" and gives 149.575.
    for text in ("MgSO4.7H2O", "MgSO4·7H2O", "MgSO4 · 7 H2O", "MgSO4*7H2O"):
        holds(molar_mass_of(text), "246.4745", "0.01")
    refused(lambda: 149.575, "246.4745", "0.01")


# molmass 2026.1.8: share of the water-free salt by weight
SHARES = [
    ("MgSO4·7H2O", "MgSO4", "0.48836"),
    ("CaCl2·2H2O", "CaCl2", "0.75492"),
    ("MgCl2·6H2O", "MgCl2", "0.46832"),
]


@pytest.mark.parametrize(("wet", "dry", "share"), SHARES)
def test_share_of_the_water_free_salt(wet: str, dry: str, share: str) -> None:
    masses = [molar_mass_of(text) for text in (wet, dry)]
    assert masses[0] and masses[1]
    holds(hydrate_by_formula(masses[0], masses[1]), share, "0.00005")
    # One molecule of water more or less is noticed.
    slip = masses[0] - (molar_mass_of("H2O") or 0)
    refused(lambda: hydrate_by_formula(slip, masses[1] or slip), share, "0.00005")


# Practitioner pages, common practice, no source: heptahydrate 48.8 %, hexahydrate 46.8 % salt,
# citric acid monohydrate for 1 of the anhydrous 1.093 by the page, 1.0938 by its masses.
SHEETS = Sheets(
    {
        name: sheet_of(name)
        for name in (
            "magnesium-sulfate-heptahydrate",
            "magnesium-sulfate-anhydrous",
            "magnesium-chloride-hexahydrate",
            "magnesium-chloride-anhydrous",
            "citric-acid-monohydrate",
            "citric-acid",
            "sodium-chloride",
            "water",
        )
    }
)


@pytest.mark.parametrize(
    ("name", "percent"),
    [("magnesium-sulfate-heptahydrate", "48.8"), ("magnesium-chloride-hexahydrate", "46.8")],
)
def test_salt_in_a_hydrate_by_its_sheet(name: str, percent: str) -> None:
    found = hydrate_of(SHEETS.find(name), SHEETS)
    assert found is not None and found.from_molar_masses
    holds(found.as_anhydrous(Fraction(100)), percent, "0.05")


def test_hydrate_for_the_water_free_material() -> None:
    sulfate = hydrate_of(SHEETS.find("magnesium-sulfate-heptahydrate"), SHEETS)
    citric = hydrate_of(SHEETS.find("citric-acid-monohydrate"), SHEETS)
    assert sulfate is not None and citric is not None
    # molmass 2026.1.8: 2.04768 g of the heptahydrate hold 1 g of the salt
    holds(sulfate.as_hydrate(Fraction(1)), "2.04768", "0.00005")
    refused(lambda: sulfate.as_anhydrous(Fraction(1)), "2.04768", "0.00005")
    # practitioner page, common practice, no source
    holds(citric.as_hydrate(Fraction(1)), "1.093", "0.001")


SALT = molar_mass_of("MgSO4") or Fraction()
HEPTAHYDRATE = molar_mass_of("MgSO4·7H2O") or Fraction()


def in_water(name: str, amount: str, water: str) -> Fraction:
    """The molality, in mol per kg, of so many grams of a salt with so many grams of water."""
    whole = Fraction(amount) + Fraction(water)
    shares = {name: Fraction(amount) / whole, "water": Fraction(water) / whole}
    # As percents with enough digits: the formula takes typed decimals only.
    lines = [line(name, f"{float(100 * shares[name]):.12f}"), line("water", "qs")]
    found = electrolyte(resolve(formula(A=lines), SHEETS), SHEETS)
    (salt,) = found.salts
    assert salt.molality is not None
    return salt.molality.least / 1000


def test_molality_counts_the_water_of_the_hydrate() -> None:
    # molmass 2026.1.8: 1.000 g MgSO4·7H2O + 60.00 g water: 0.5116 g more water, 0.06705 mol/kg
    hydrate_water = 1 - SALT / HEPTAHYDRATE
    holds(molality(Fraction(1), HEPTAHYDRATE, 60 + hydrate_water), "0.06705", "0.00001")
    holds(in_water("magnesium-sulfate-heptahydrate", "1", "60"), "0.06705", "0.00001")
    refused(lambda: molality(Fraction(1), HEPTAHYDRATE, Fraction(60)), "0.06705", "0.00001")


def test_molality_of_the_water_free_salt_is_twice_as_much() -> None:
    # molmass 2026.1.8: 1.000 g MgSO4 + 60.00 g water: 0.13847 mol/kg, 2.065 times the above
    dry = in_water("magnesium-sulfate-anhydrous", "1", "60")
    holds(dry, "0.13847", "0.00001")
    holds(dry / in_water("magnesium-sulfate-heptahydrate", "1", "60"), "2.065", "0.001")
    refused(lambda: molality(Fraction(1), SALT, Fraction(61)), "0.13847", "0.00001")


def test_molality_from_percent_by_weight() -> None:
    # Worked example of a chemistry course: 3.00 % of a solute of 165.19 g/mol is 0.187 mol/kg
    holds(molality(Fraction(3), Fraction("165.19"), Fraction(97)), "0.187", "0.0005")
    refused(lambda: molality(Fraction(3), Fraction("165.19"), Fraction(100)), "0.187", "0.0005")


# IUPAC Gold Book I03180, goldbook.iupac.org/terms/view/I03180: half the sum of molality times
# charge squared; so I = c for NaCl, 4 c for MgSO4, 0.300 M for 0.100 M CaCl2.
@pytest.mark.parametrize(
    ("ions", "amount", "strength"),
    [
        ({"Na+": 1, "Cl-": 1}, "0.1", "0.1"),
        ({"Mg2+": 1, "SO4 2-": 1}, "0.1", "0.4"),
        ({"Ca2+": 1, "Cl-": 2}, "0.100", "0.300"),
        ({"Mg2+": 1, "Cl-": 2}, "0.100", "0.300"),
    ],
)
def test_ionic_strength_by_definition(ions: dict[str, int], amount: str, strength: str) -> None:
    charges = charges_of(ions)
    assert charges is not None
    holds(ionic_strength_of(Fraction(amount), charges), strength, "0.0001")
    if any(abs(z) > 1 for z, _ in charges):
        slip = sum((Fraction(amount) * n * abs(z) for z, n in charges), Fraction()) / 2
        refused(lambda: slip, strength, "0.0001")


def test_ionic_strength_of_the_heptahydrate_in_water() -> None:
    # IUPAC Gold Book I03180 with molmass 2026.1.8: I = 4 m = 0.26819 mol/kg for the 1 g in 60 g
    amount = in_water("magnesium-sulfate-heptahydrate", "1", "60")
    holds(ionic_strength([(amount, 2), (amount, -2)]), "0.26819", "0.00004")
    refused(lambda: ionic_strength([(amount, 1), (amount, -1)]), "0.26819", "0.00004")


def test_osmolality_of_physiological_saline() -> None:
    # molmass 2026.1.8: 9 g/l NaCl gives 0.3080 osmol/l; the same grams to 1 kg of water.
    mass = molar_mass_of("NaCl") or Fraction()
    amount = molality(Fraction(9), mass, Fraction(1000))
    holds(amount * particles(((1, 1), (-1, 1))), "0.3080", "0.0001")
    refused(lambda: amount, "0.3080", "0.0001")
    lines = [line("sodium-chloride", f"{900 / 1009:.12f}"), line("water", "qs")]
    found = electrolyte(resolve(formula(A=lines), SHEETS), SHEETS)
    assert found.osmolality is not None and found.osmolality.exact
    holds(found.osmolality.least, "0.3080", "0.0001")


def test_osmolality_of_a_sugar_from_its_osmotic_pressure() -> None:
    # thoughtco.com/calculate-osmotic-pressure-problem-609517: glucose, 7.65 atm at 310 K with
    # R = 0.08206 is 0.301 mol/l, 54.1 g/l at 180 g/mol; a sugar gives one particle.
    amount = Fraction("7.65") / Fraction("0.08206") / 310
    holds(amount * particles(None), "0.301", "0.0005")
    holds(amount * 180, "54.1", "0.05")
    holds(molality(amount * 180, Fraction(180), Fraction(1000)), "0.301", "0.0005")


@pytest.mark.parametrize(
    ("ion", "charge"),
    # Charges of common ions, from memory.
    [
        ("Na+", 1), ("Mg2+", 2), ("Al3+", 3), ("Cl-", -1), ("SO4 2-", -2), ("SO42-", -2),
        ("NH4+", 1), ("HCO3-", -1), ("C6H5O7 3-", -3), ("PO43-", -3), ("OH-", -1),
    ],
)  # fmt: skip
def test_charges_of_common_ions(ion: str, charge: int) -> None:
    assert charge_of(ion) == charge


def test_the_same_grams_of_another_grade_are_another_amount_of_salt() -> None:
    dry, wet = (
        Ingredient(id=name, molar_mass=sheet.molar_mass, ions=sheet.ions)
        for name, sheet in (
            (name, sheet_of(name))
            for name in ("magnesium-sulfate-anhydrous", "magnesium-sulfate-heptahydrate")
        )
    )
    from labbook.trade.hydrates import same_grams, times_the_salt

    # molmass 2026.1.8: 246.4745 / 120.3675 = 2.04768
    holds(times_the_salt(wet, dry, SHEETS), "2.04768", "0.00005")
    assert same_grams(dry, wet, SHEETS) == "same grams, half the salt"
    assert same_grams(wet, dry, SHEETS) == "same grams, 2.05 times the salt"
