"""Molality, ionic strength and osmolality against worked examples, the source beside each.

A litre of a solution is taken as a kilogram of water where the source reckons by the litre.
"""

from __future__ import annotations

from fractions import Fraction

import pytest

from labbook.trade.electrolyte import ionic_strength_of, molality, particles
from labbook.trade.molar import charges_of, molar_mass_of
from tests.published.outside import Outside
from tests.published.test_electrolytes import in_water

F = Fraction
COURSE = "chemistry.coach, general chemistry 2, exercise 393"
GLAMORGAN = "saps.glam.ac.uk/pghall/ph2s17/activity/page4, ionic strength problems"
INFUSIONS = "globalrph.com/sample-osmolarity-calculations"
MOLMASS = "molmass 2026.1.8"

MOLALITY = [
    Outside(
        "29.22 g salt, 2 kg water", in_water("sodium-chloride", "29.22", "2000"), "0.25",
        "sciencenotes.org/calculating-molality-example-problem",
    ),
    Outside(
        "38.0 g salt, 880 g water", in_water("sodium-chloride", "38.0", "880"), "0.739",
        "sartep.com/chem/tutorials, molality",
    ),
    Outside(
        "5.0 g salt, 25 g water; moles rounded on the way",
        in_water("sodium-chloride", "5.0", "25"), "3.44", "ausetute.com.au/molality.html", "0.02",
    ),
    Outside(
        "20.5 % salt", in_water("sodium-chloride", "20.5", "79.5"), "4.41",
        "transformationtutoring.com, NaCl of 20.5 % by mass",
    ),
    Outside(
        "10 % glucose; moles rounded on the way", molality(F(10), F(180), F(90)), "0.618",
        "shaalaa.com question 859", "0.001",
    ),
    Outside(
        "1 g heptahydrate, 60 g water", in_water("magnesium-sulfate-heptahydrate", "1", "60"),
        "0.06705", MOLMASS, "0.00001",
    ),
    Outside(
        "1 g anhydrous, 60 g water", in_water("magnesium-sulfate-anhydrous", "1", "60"),
        "0.13847", MOLMASS, "0.00001",
    ),
]  # fmt: skip


def strength(*salts: tuple[str, dict[str, int]]) -> Fraction:
    """The ionic strength of salts together, from their amounts and ions."""
    found = F()
    for amount, ions in salts:
        charges = charges_of(ions)
        assert charges is not None
        found += ionic_strength_of(F(amount), charges)
    return found


SULFATE = {"Na+": 2, "SO4 2-": 1}
MIXED = (("0.2", {"Na+": 1, "Cl-": 1}), (f"{F('0.2') / 3}", {"K+": 2, "SO4 2-": 1}))
DILUTE = (("0.001", {"Al3+": 2, "SO4 2-": 3}), ("0.003", {"Li+": 2, "SO4 2-": 1}))
STRENGTH = [
    Outside("sodium sulfate", strength(("0.1", SULFATE)), "0.3", COURSE, "0.0001"),
    Outside(
        "magnesium sulfate", strength(("0.1", {"Mg2+": 1, "SO4 2-": 1})), "0.4", COURSE, "0.0001"
    ),
    Outside("hydroxide", strength(("0.2", {"K+": 1, "OH-": 1})), "0.2", GLAMORGAN, "0.0001"),
    Outside("phosphate", strength(("0.05", {"Na+": 3, "PO4 3-": 1})), "0.3", GLAMORGAN, "0.0001"),
    Outside("100 and 50 ml of two salts", strength(*MIXED), "0.4", GLAMORGAN, "0.0001"),
    Outside("50 and 50 ml of two salts", strength(*DILUTE), "0.024", GLAMORGAN, "0.0001"),
    Outside(
        "sulfate and potassium chloride",
        strength(("0.1", SULFATE), ("0.1", {"K+": 1, "Cl-": 1})), "0.4",
        "otvet.ya.guru question 4221838", "0.0001",
    ),
    Outside(
        "calcium chloride", strength(("0.1", {"Ca2+": 1, "Cl-": 2})), "0.3",
        "IUPAC Gold Book I03180: definition, reckoned", "0.0001",
    ),
]  # fmt: skip


def milliosmol(grams: str, molar: str, ions: dict[str, int] | None = None) -> Fraction:
    """Of so many grams to a kilogram of water; the molar mass as a figure or a formula."""
    mass = molar_mass_of(molar) if molar[0].isalpha() else F(molar)
    assert mass is not None
    return 1000 * molality(F(grams), mass, F(1000)) * particles(charges_of(ions or {}))


SALINE = milliosmol("9", "NaCl", {"Na+": 1, "Cl-": 1})
OSMOLALITY = [
    Outside(
        "500 g/l heptahydrate", milliosmol("500", "MgSO4·7H2O", {"Mg2+": 1, "SO4 2-": 1}), "4057",
        INFUSIONS,
    ),
    Outside(
        "100 g/l dihydrate, as the vial states it",
        milliosmol("100", "CaCl2·2H2O", {"Ca2+": 1, "Cl-": 2}), "2040", INFUSIONS, "1",
    ),
    Outside(
        "100 g/l gluconate", milliosmol("100", "430.38", {"Ca2+": 1, "C6H11O7 -": 2}), "697",
        INFUSIONS,
    ),
    Outside("50 g/l dextrose monohydrate", milliosmol("50", "C6H12O6·H2O"), "252", INFUSIONS),
    Outside("700 g/l dextrose, the bag", milliosmol("700", "C6H12O6·H2O"), "3530", INFUSIONS, "3"),
    Outside("saline", SALINE, "308", INFUSIONS),
    Outside("saline", SALINE, "308", "USP formula, docplayer.net/21485557"),
    Outside("saline", SALINE, "308.0", MOLMASS),
]  # fmt: skip


@pytest.mark.parametrize("row", [*MOLALITY, *STRENGTH, *OSMOLALITY], ids=str)
def test_worked_examples_of_salts(row: Outside) -> None:
    row.check()
