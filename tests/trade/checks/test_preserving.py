"""What is said of preservation.

Free shares by Henderson-Hasselbalch with the pKa 4.21 of benzoic acid (J Res NBS 71A:379, 1967):
100 ÷ (1 + 10^(6.0 − 4.21)) = 1.60 %, at pH 5.0 it is 13.96 %. Low risk by ISO 29621 as told at
bav-institut.de. The other figures are the sheets', or common practice, no source.
"""

from dataclasses import replace
from decimal import Decimal
from fractions import Fraction

import pytest

from labbook.model.materials import Value
from labbook.model.problems import Severity
from labbook.trade.checks.acidity import Acidity, acidity
from labbook.trade.checks.case import Unseen
from tests.trade.checks.recipes import (
    BALM,
    CARBOMER_GEL,
    GEL,
    OIL_IN_WATER,
    SOUND,
    WATER_IN_OIL,
    Pair,
    findings,
    pH_reading,
    proves,
    unseen,
)

BARE = WATER_IN_OIL.out("sodium-benzoate")
SPIRIT = GEL.out("sodium-benzoate", "potassium-sorbate").put("B", "ethanol", "25")
BENZOATE = "sodium-benzoate"
NO_AIM = WATER_IN_OIL.but(pH=None).put("B", "citric-acid-20-percent", "0.5")
PHENOXY = OIL_IN_WATER.out("sodium-benzoate", "benzyl-alcohol").put("C", "phenoxyethanol", "0.8")
NIACINAMIDE = OIL_IN_WATER.put("A", "niacinamide", "3")
ALOE = GEL.put("B", "aloe-vera-juice", "20").instead("citric-acid-20-percent", "lactic-acid")

PAIRS = {
    "no-preservative": Pair(
        BARE.case(),
        BARE.put("B", "potassium-sorbate", "0.3").case(),
        ("% of the formula is water, and nothing here preserves it",),
    ),
    "low-risk-product": Pair(
        SPIRIT.case(),
        SPIRIT.put("B", "sodium-benzoate", "0.5").case(),
        ("and no preservative is in it; 25 % is alcohol",),
    ),
    "little-preservative": Pair(
        WATER_IN_OIL.put("B", BENZOATE, "0.2").case(),
        WATER_IN_OIL.put("B", BENZOATE, "0.2").put("B", "potassium-sorbate", "0.1").case(),
        ("0.2 % sodium-benzoate, usual from 0.3 % on",),
    ),
    "preservative-in-the-oil": Pair(
        WATER_IN_OIL.out(BENZOATE).put("A", BENZOATE, "0.5").case(),
        WATER_IN_OIL.case(),
        ("sodium-benzoate dissolves in water and acts there; it stands in phase A",
         "The water is phase B"),
    ),
    "too-little-acid-left": Pair(
        OIL_IN_WATER.but(pH=("5.6", "6.0")).case(),
        OIL_IN_WATER.case(),
        ("At the pH of 6.0 that you aim for, 1.6 % of the benzoic acid is left to preserve",
         "At pH 5.0 it is 14 %"),
    ),
    "acid-without-a-ph": Pair(
        NO_AIM.case(),
        NO_AIM.but(pH=(None, "5.0")).case(),
        ("sodium-benzoate preserves only at a low enough pH",),
    ),
    "free-acid-above-solubility": Pair(
        # at pH 3.5 nearly all of 0.42 % acid is free: above the 0.3 % that water dissolves
        WATER_IN_OIL.but(pH=("3.5", "4.0")).case(),
        WATER_IN_OIL.case(),
        ("free benzoic acid would be in the water phase at the lowest pH", "water dissolves 0."),
    ),
    "preservative-outside-its-ph": Pair(
        OIL_IN_WATER.out(BENZOATE).but(pH=("8.2", "8.5")).case(),
        OIL_IN_WATER.out(BENZOATE).but(pH=("7.0", "8.0")).case(),
        ("At the pH of 8.2 to 8.5 aimed for, benzyl-alcohol is outside the pH of 3 to 8",),
    ),
    "outside-its-ph": Pair(
        NIACINAMIDE.case(),
        NIACINAMIDE.but(pH=("5.0", "5.4")).case(),
        ("niacinamide is outside the pH of 5 to 7",),
    ),
    "ph-windows-apart": Pair(
        NIACINAMIDE.put("A", "salicylic-acid", "0.5").case(),
        NIACINAMIDE.put("A", "sodium-dehydroacetate", "0.5").case(),
        ("salicylic-acid wants a pH up to 4.5, niacinamide one 5 to 7: no pH suits both",),
    ),
    "no-chelator": Pair(
        ALOE.case(),
        ALOE.put("B", "sodium-phytate", "0.1").case(),
        ("20 % is aloe-vera-juice, and nothing here binds metals",),
    ),
}  # fmt: skip


@pytest.mark.parametrize("rule", PAIRS)
def test_a_rule_speaks_of_one_and_not_of_the_other(rule: str) -> None:
    proves(rule, PAIRS[rule])


@pytest.mark.parametrize("name", SOUND)
def test_the_sound_recipes_give_no_finding_of_preservation(name: str) -> None:
    assert {rule for rule in PAIRS if findings(SOUND[name].case(), rule)} == set()


def test_water_without_preservative_is_an_error() -> None:
    (found,) = findings(BARE.case(), "no-preservative")
    assert found.severity is Severity.ERROR


def test_a_balm_needs_no_preservative() -> None:
    assert findings(BALM.case(), "no-preservative") == []


def test_a_material_without_a_sheet_may_be_the_preservative() -> None:
    cream = BARE.put("B", "suppliers-preservative", "1").case()
    assert findings(cream, "no-preservative") == []
    lacks = Unseen("no-preservative", "whether suppliers-preservative preserves the water")
    assert lacks in unseen(cream)


def test_a_role_tells_what_preserves() -> None:
    cream = BARE.put("B", "pentylene-glycol", "5").but(roles={"pentylene-glycol": "preservative"})
    assert findings(cream.case(), "no-preservative") == []


def test_a_line_that_is_adjusted_to_a_ph_aims_for_it() -> None:
    case = WATER_IN_OIL.but(pH=None).case()
    lines = tuple(
        replace(line, adjust=line.adjust and "pH to 4.8 to 5.0") for line in case.composition.lines
    )
    aimed = replace(case, composition=replace(case.composition, lines=lines))
    assert acidity(aimed) == Acidity(low=Fraction("4.8"), high=Fraction(5))
    assert findings(aimed, "acid-without-a-ph") == []


def test_an_acid_that_is_adjusted_to_some_ph_is_let_pass() -> None:
    assert findings(WATER_IN_OIL.but(pH=None).case(), "acid-without-a-ph") == []


def test_a_little_alcohol_is_no_preservative() -> None:
    weak = SPIRIT.put("B", "ethanol", "10").case()
    assert findings(weak, "low-risk-product") == []
    assert findings(weak, "no-preservative")


def test_vitamin_e_is_no_preservative() -> None:
    assert findings(BARE.put("C", "tocopherol", "1").case(), "no-preservative")


@pytest.mark.parametrize(
    ("pH", "says"), [(("2.5", "2.9"), "at 2.9 or below"), (("10.5", "11"), "at 10.5 or above")]
)
def test_a_far_off_ph_is_low_risk_by_the_standard(pH: tuple[str, str], says: str) -> None:
    (found,) = findings(BARE.but(pH=pH).case(), "low-risk-product")
    assert says in found.what
    assert "Low is not none" in found.why
    assert found.severity is Severity.NOTE


def test_the_free_acid_stands_in_the_water_phase() -> None:
    (found,) = findings(OIL_IN_WATER.but(pH=("5.6", "6.0")).case(), "too-little-acid-left")
    assert "% of the water phase" in found.what
    assert "looking is not a microbiological test" in found.mend
    assert "pKa 4.21" in found.source
    assert found.target == 0


def test_the_sheets_least_free_acid_counts_before_its_window() -> None:
    asks = Value(value=Decimal("0.2"), unit="%", source="invented for this test")
    strict = OIL_IN_WATER.sheet("sodium-benzoate", least_free_acid=asks)
    (found,) = findings(strict.case(), "too-little-acid-left")
    assert "asks for 0.2 % free acid in the water phase" in found.what
    easy = replace(asks, value=Decimal("0.001"))
    content = OIL_IN_WATER.but(pH=("5.6", "6.0")).sheet("sodium-benzoate", least_free_acid=easy)
    assert findings(content.case(), "too-little-acid-left") == []


def test_without_window_and_least_there_is_no_threshold() -> None:
    silent = OIL_IN_WATER.but(pH=("5.6", "6.0")).sheet("sodium-benzoate", pH_window=None)
    assert findings(silent.case(), "too-little-acid-left") == []


def test_of_a_batch_the_last_ph_of_the_water_counts_with_its_uncertainty() -> None:
    near = OIL_IN_WATER.made({}, pH_reading("5.45", uncertainty=Decimal("0.1")))
    (found,) = findings(near, "too-little-acid-left")
    assert "At the measured pH of 5.55" in found.what
    assert findings(OIL_IN_WATER.made({}, pH_reading("5.45")), "too-little-acid-left") == []
    assert findings(OIL_IN_WATER.but(pH=("5.6", "6.0")).made({}), "too-little-acid-left") == []


def test_a_ph_of_a_finished_water_in_oil_cream_is_compared_with_nothing() -> None:
    cream = WATER_IN_OIL.made({}, pH_reading("6.8", "finished emulsion"))
    assert findings(cream, "too-little-acid-left") == []


def test_a_struck_ph_counts_no_more() -> None:
    lotion = OIL_IN_WATER.made({}, pH_reading("6.5", struck="electrode was dry"))
    assert findings(lotion, "too-little-acid-left") == []


def test_windows_that_are_apart_are_said_once() -> None:
    both = NIACINAMIDE.put("A", "salicylic-acid", "0.5").case()
    assert findings(both, "outside-its-ph") == []


def test_benzoate_at_the_edge_of_carbomer_is_no_conflict() -> None:
    """Both allow pH 5.5 exactly."""
    gel = CARBOMER_GEL.put("A", "sodium-benzoate", "0.3").but(pH=("5.5", "5.5"))
    assert findings(gel.case(), "ph-windows-apart") == []
    assert findings(gel.case(), "too-little-acid-left") == []


def test_a_preservative_in_the_cool_phase_is_not_in_the_oil() -> None:
    late = OIL_IN_WATER.out(BENZOATE).put("C", BENZOATE, "0.5")
    assert findings(late.case(), "preservative-in-the-oil") == []


def test_phenoxyethanol_may_stand_anywhere() -> None:
    assert findings(PHENOXY.case(), "preservative-in-the-oil") == []


def test_citric_acid_in_a_solution_binds_metals_too() -> None:
    citric = ALOE.instead("lactic-acid", "citric-acid-20-percent")
    assert findings(citric.case(), "no-chelator") == []


def test_an_unknown_material_may_be_the_chelator() -> None:
    assert findings(ALOE.put("B", "suppliers-blend", "1").case(), "no-chelator") == []
