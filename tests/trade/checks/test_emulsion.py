"""What is said of water-in-oil, and of emulsifiers of either type.

Figures: common practice, no source, unless a comment names one.
"""

from decimal import Decimal

import pytest

from labbook.model.batch import Correction
from labbook.model.materials import Value
from labbook.trade.checks.case import Case
from tests.trade.checks.recipes import (
    OIL_IN_WATER,
    WATER_IN_OIL,
    Pair,
    done,
    findings,
    pH_reading,
    proves,
    step,
)
from tests.trade.making import value

BLENDED = step("s5", "add", add="C", into="the cream", below="35", with_="stick-blender")
EMULSIFIER = "polyglyceryl-3-diisostearate"
LATE_SALT = WATER_IN_OIL.out("sodium-chloride").put("C", "sodium-chloride", "0.8")
LATE_BENZOATE = WATER_IN_OIL.out("sodium-benzoate").put("C", "sodium-benzoate", "0.5")
SOAP = OIL_IN_WATER.out("cetearyl-glucoside", "cetearyl-alcohol").put("B", "stearic-acid", "3")

PAIRS = {
    "no-emulsifier": Pair(
        WATER_IN_OIL.out(EMULSIFIER, "beeswax").case(),
        WATER_IN_OIL.out("beeswax").case(),
        ("Nothing in this formula emulsifies.",),
    ),
    "co-emulsifier-alone": Pair(
        SOAP.case(),
        SOAP.put("A", "triethanolamine", "0.8").case(),
        ("stearic-acid alone makes no lasting emulsion",),
    ),
    "emulsifier-of-the-other-kind": Pair(
        # HLB 15 and 4.3: reference table of emulsifier HLB by INCI name, as the sheets name it.
        WATER_IN_OIL.instead(EMULSIFIER, "polysorbate-80").case(),
        WATER_IN_OIL.instead(EMULSIFIER, "sorbitan-oleate").case(),
        ("polysorbate-80 (HLB 15)", "made for oil-in-water; this is meant to be water-in-oil"),
    ),
    "little-emulsifier-in-water-in-oil": Pair(
        # 1.5 ÷ 76.4 × 100 = 1.963…, the rest of the formula being 23.6 % with 1.5 % emulsifier
        WATER_IN_OIL.put("A", EMULSIFIER, "1.5").out("tocopherol").case(),
        WATER_IN_OIL.put("A", EMULSIFIER, "2").out("tocopherol").case(),
        ("1.5 % of the formula", "1.9 g to 100 g of the water phase", "79 % of the formula",
         f"begins at 2 % of {EMULSIFIER}"),
    ),
    "much-emulsifier-in-water-in-oil": Pair(
        WATER_IN_OIL.put("A", EMULSIFIER, "8").case(),
        WATER_IN_OIL.put("A", EMULSIFIER, "6").case(),
        ("8 % of the formula is emulsifier", "More than 6 %"),
    ),
    "high-internal-phase": Pair(
        WATER_IN_OIL.put("A", "sunflower-oil", "4").case(),
        WATER_IN_OIL.put("A", "sunflower-oil", "10").case(),
        ("The water phase is 83.6 % of the formula",),
    ),
    "no-electrolyte-in-water": Pair(
        WATER_IN_OIL.out("sodium-chloride").case(),
        WATER_IN_OIL.case(),
        ("no salt in the water phase, which is 75.6 % of the formula",),
    ),
    "little-electrolyte-in-water": Pair(
        WATER_IN_OIL.instead("sodium-chloride", "magnesium-sulfate-heptahydrate", "0.3").case(),
        WATER_IN_OIL.instead("sodium-chloride", "magnesium-sulfate-heptahydrate", "0.5").case(),
        ("0.3 % magnesium-sulfate-heptahydrate by the formula", "0.4 % of the water phase",
         "osmol per kg of water"),
    ),
    "much-electrolyte-in-water": Pair(
        WATER_IN_OIL.put("B", "sodium-chloride", "3").case(),
        WATER_IN_OIL.put("B", "sodium-chloride", "1.5").case(),
        ("3 % sodium-chloride by the formula", "usual is up to 1.5 %"),
    ),
    "gellant-in-droplets": Pair(
        WATER_IN_OIL.put("B", "xanthan-gum", "0.3").case(),
        OIL_IN_WATER.case(),
        ("0.3 % xanthan-gum thickens the water, which here is inside the droplets",),
    ),
    "preservative-after-combining": Pair(
        LATE_BENZOATE.case(),
        LATE_BENZOATE.doing(BLENDED).case(),
        ("sodium-benzoate (in phase C) preserves the water",),
    ),
    "water-soluble-after-combining": Pair(
        LATE_SALT.case(),
        LATE_SALT.doing(step("s6", "whip")).case(),
        ("sodium-chloride (in phase C) dissolves in water", "nothing emulsifies after it"),
    ),
    "oil-into-water": Pair(
        WATER_IN_OIL.doing(step("s3", "combine", add="A", into="B")).case(),
        WATER_IN_OIL.doing(step("s3", "combine", add="B", into="A")).case(),
        ("Step s3 adds A to the water phase B.",),
    ),
    "ph-of-water-in-oil": Pair(
        WATER_IN_OIL.made({}, pH_reading("6.8", "finished emulsion")),
        WATER_IN_OIL.made({}, pH_reading("4.9", "water phase")),
        ("pH 6.8 of the finished cream says nothing in a water-in-oil cream",),
    ),
}  # fmt: skip


@pytest.mark.parametrize("rule", PAIRS)
def test_a_rule_speaks_of_one_and_not_of_the_other(rule: str) -> None:
    proves(rule, PAIRS[rule])


def rules_found(case: Case) -> set[str]:
    return {rule for rule in PAIRS if findings(case, rule)}


def test_no_rule_of_water_in_oil_speaks_of_oil_in_water() -> None:
    lotion = OIL_IN_WATER.put("A", "sodium-chloride", "3").put("C", "sodium-benzoate", "0.1")
    assert rules_found(lotion.case()) == set()


def test_the_observed_type_counts_before_the_intended_one() -> None:
    cream = WATER_IN_OIL.out("sodium-chloride")
    turned = cream.case(observed="oil-in-water")
    assert findings(turned, "no-electrolyte-in-water") == []
    (found,) = findings(turned, "emulsifier-of-the-other-kind")
    assert "oil-in-water is what was observed" in found.what
    assert "no-electrolyte-in-water" in rules_found(cream.case(observed="water-in-oil"))


def test_what_has_no_sheet_is_not_taken_for_missing() -> None:
    cream = WATER_IN_OIL.out(EMULSIFIER, "beeswax", "sodium-chloride")
    unknown = cream.put("A", "grandmothers-wax", "4")
    assert rules_found(unknown.case()) == set()


def test_a_role_makes_an_emulsifier_of_what_has_no_sheet() -> None:
    cream = WATER_IN_OIL.instead(EMULSIFIER, "suppliers-new-emulsifier")
    assert findings(cream.but(roles={"suppliers-new-emulsifier": "emulsifier"}).case(),
                    "no-emulsifier") == []  # fmt: skip


def test_a_role_makes_no_emulsifier_of_beeswax() -> None:
    cream = WATER_IN_OIL.out(EMULSIFIER).put("A", "beeswax", "5")
    (found,) = findings(cream.but(roles={"beeswax": "emulsifier"}).case(), "co-emulsifier-alone")
    assert "beeswax alone makes no lasting emulsion" in found.what


def test_two_emulsifiers_share_the_usual_use() -> None:
    """Half of the least of each is as much as the least of one."""
    cream = WATER_IN_OIL.put("A", EMULSIFIER, "1").put("A", "sorbitan-isostearate", "0.5")
    assert findings(cream.case(), "little-emulsifier-in-water-in-oil") == []
    less = cream.put("A", "sorbitan-isostearate", "0.4")
    (found,) = findings(less.case(), "little-emulsifier-in-water-in-oil")
    assert "1 % of sorbitan-isostearate" in found.what


def test_an_emulsifier_without_usual_use_is_measured_by_the_rule() -> None:
    cream = WATER_IN_OIL.sheet(EMULSIFIER, usual_use=None)
    least = cream.put("A", EMULSIFIER, "0.9").case()
    assert findings(least, "little-emulsifier-in-water-in-oil")
    assert (
        findings(cream.put("A", EMULSIFIER, "1").case(), "little-emulsifier-in-water-in-oil") == []
    )


def test_an_oil_in_water_emulsion_on_a_water_in_oil_emulsifier_is_named_too() -> None:
    lotion = OIL_IN_WATER.instead("cetearyl-glucoside", "sorbitan-stearate")
    (found,) = findings(lotion.case(), "emulsifier-of-the-other-kind")
    assert "sorbitan-stearate (HLB 4.7), is made for water-in-oil" in found.what
    one_of_two = lotion.put("B", "polysorbate-60", "1")
    assert findings(one_of_two.case(), "emulsifier-of-the-other-kind") == []


def test_no_hlb_or_a_charge_gives_no_finding() -> None:
    cream = WATER_IN_OIL.instead(EMULSIFIER, "polysorbate-80")
    assert findings(cream.sheet("polysorbate-80", HLB=None).case(),
                    "emulsifier-of-the-other-kind") == []  # fmt: skip
    soap = OIL_IN_WATER.instead("cetearyl-glucoside", "glyceryl-stearate-se")
    assert findings(soap.case(), "emulsifier-of-the-other-kind") == []


def test_the_salt_is_told_by_formula_water_phase_and_particles() -> None:
    """3 % NaCl in 71.3 % of water: 3 ÷ 58.443 ÷ 0.7130 × 2 × 10 = 1.44 osmol per kg.

    Molar mass 58.443 g/mol: molmass 2026.1.8. The water is 100 − 4.5 − 12 − 6 − 1.5 − 3 − 3 − 0.5
    − 0.5 − 0.4 = 68.6 %, with 0.4 % of the citric acid solution 69.0 %: 1.49 osmol per kg.
    """
    cream = WATER_IN_OIL.put("B", "sodium-chloride", "3").put("B", "glycerin", "3")
    (found,) = findings(cream.case(), "much-electrolyte-in-water")
    assert "1.49 osmol per kg of water" in found.what
    assert "Disputed" in found.why


def test_other_salts_in_the_water_are_named_where_there_is_no_salt() -> None:
    (found,) = findings(WATER_IN_OIL.out("sodium-chloride").case(), "no-electrolyte-in-water")
    assert "Disputed" in found.why
    if "counts a little as salt" in found.what:
        assert "sodium-benzoate" in found.what


def test_a_cold_cream_with_little_water_needs_no_salt() -> None:
    cream = WATER_IN_OIL.out("sodium-chloride").put("A", "sunflower-oil", "45")
    assert findings(cream.case(), "no-electrolyte-in-water") == []


def test_an_acid_added_to_the_finished_cream_is_named() -> None:
    late = WATER_IN_OIL.doing(step("s6", "adjust", into="the cream"))
    (found,) = findings(late.case(), "water-soluble-after-combining")
    assert found.what.startswith("citric-acid-20-percent")


def test_a_spatula_is_not_taken_to_emulsify() -> None:
    by_hand = step("s5", "add", add="C", into="the cream", with_="a spatula", then_mix=None)
    assert findings(LATE_BENZOATE.doing(by_hand).case(), "preservative-after-combining")


def test_nothing_is_said_of_order_where_there_is_no_method() -> None:
    assert findings(LATE_BENZOATE.but(method=()).case(), "preservative-after-combining") == []


def test_a_target_of_the_finished_cream_is_pointed_at() -> None:
    cream = WATER_IN_OIL.but(pH_of="finished cream")
    (found,) = findings(cream.case(), "ph-of-water-in-oil")
    assert found.target == 0


def test_a_corrected_reading_counts_as_corrected() -> None:
    case = WATER_IN_OIL.made({"s3": done()}, pH_reading("6.8", "finished emulsion"))
    assert case.batch is not None
    fix = Correction(id="c1", of="r1", key="of", was="finished emulsion", now="water phase",
                     why="it was the water", time=case.batch.made)  # fmt: skip
    mended = WATER_IN_OIL.made({}, pH_reading("6.8", "finished emulsion"))
    assert mended.batch is not None
    object.__setattr__(mended, "batch", _with(mended, fix))
    assert findings(mended, "ph-of-water-in-oil") == []


def _with(case: Case, correction: Correction) -> object:
    from dataclasses import replace

    assert case.batch is not None
    return replace(case.batch, corrections=(correction,))


def test_ends_of_a_range_are_printed_as_a_range() -> None:
    ranged = Value(from_=Decimal("14"), to=Decimal("16"))
    cream = WATER_IN_OIL.instead(EMULSIFIER, "polysorbate-80").sheet("polysorbate-80", HLB=ranged)
    (found,) = findings(cream.case(), "emulsifier-of-the-other-kind")
    assert "(HLB 14 to 16)" in found.what
    middle = cream.sheet("polysorbate-80", HLB=value("7-9", None))
    assert findings(middle.case(), "emulsifier-of-the-other-kind") == []
