"""What is said of oil-in-water. Figures: common practice, no source."""

import pytest

from tests.trade.checks.recipes import (
    CARBOMER_GEL,
    OIL_IN_WATER,
    WATER_IN_OIL,
    Pair,
    findings,
    proves,
    step,
)

CARBOMER_CREAM = (
    OIL_IN_WATER.instead("xanthan-gum", "carbomer")
    .out("sodium-benzoate", "citric-acid-20-percent")
    .put("A", "triethanolamine", "0.5")
    .but(pH=("5.8", "6.5"))
)
WAXY = OIL_IN_WATER.out("rice-bran-oil").put("B", "rice-bran-wax", "7")
LIQUID = (
    OIL_IN_WATER.out("cetearyl-glucoside", "cetearyl-alcohol")
    .put("B", "polysorbate-80", "2")
    .out("xanthan-gum")
)
LIGHT = OIL_IN_WATER.out("cetearyl-alcohol").put("B", "cetearyl-glucoside", "1")

PAIRS = {
    "salt-against-thickener": Pair(
        CARBOMER_CREAM.put("A", "sodium-lactate", "3").case(),
        CARBOMER_CREAM.put("A", "propanediol", "3").case(),
        ("carbomer is to thicken the water, and 3 % sodium-lactate stands in it",),
    ),
    "much-salt-in-oil-in-water": Pair(
        OIL_IN_WATER.put("A", "magnesium-sulfate-heptahydrate", "10").case(),
        OIL_IN_WATER.put("A", "magnesium-sulfate-heptahydrate", "1").case(),
        ("10 % magnesium-sulfate-heptahydrate is much salt",),
    ),
    "much-wax-in-the-oils": Pair(
        # 7 of 7 + 4.5 % oils; cetearyl alcohol helps the emulsifier and counts with it
        WAXY.case(),
        WAXY.put("B", "rice-bran-wax", "4").case(),
        ("60.9 % of the oils is wax (rice-bran-wax)",),
    ),
    "nothing-thickens": Pair(
        LIQUID.case(),
        LIQUID.put("A", "xanthan-gum", "0.2").case(),
        ("All oils are liquid and nothing thickens the water",),
    ),
    "little-emulsifier-for-the-oils": Pair(
        # 1 % to 11.5 % oils: 8.7 without, 1 ÷ 12.5 = 8 % with the emulsifier in the count
        LIGHT.case(),
        LIGHT.put("B", "cetearyl-glucoside", "1.2").case(),
        ("1 % cetearyl-glucoside to 11.5 % oils", "8.7 g to 100 g of oils without the emulsifier",
         "8 % of oils and emulsifier together"),
    ),
    "much-emulsifier-for-the-oils": Pair(
        OIL_IN_WATER.put("B", "cetearyl-alcohol", "7").case(),
        OIL_IN_WATER.put("B", "cetearyl-alcohol", "7").put("B", "rice-bran-oil", "15").case(),
        ("8.8 % cetearyl-glucoside and cetearyl-alcohol to 11.5 % oils", "76.5 g to 100 g"),
    ),
    "much-added-cold": Pair(
        OIL_IN_WATER.put("C", "rose-hydrosol", "25").case(),
        OIL_IN_WATER.put("C", "rose-hydrosol", "15").case(),
        ("25.8 % of the formula goes in at 40 °C, after the cream is made",),
    ),
    "much-oil-for-oil-in-water": Pair(
        OIL_IN_WATER.put("B", "rice-bran-oil", "50").put("B", "cetearyl-alcohol", "6").case(),
        OIL_IN_WATER.put("B", "rice-bran-oil", "40").put("B", "cetearyl-alcohol", "6").case(),
        ("54.5 % of the formula is oil, and it is meant to be oil-in-water",),
    ),
}  # fmt: skip


@pytest.mark.parametrize("rule", PAIRS)
def test_a_rule_speaks_of_one_and_not_of_the_other(rule: str) -> None:
    proves(rule, PAIRS[rule])


def test_no_rule_of_oil_in_water_speaks_of_water_in_oil() -> None:
    cream = (
        WATER_IN_OIL.put("B", "magnesium-sulfate-heptahydrate", "6")
        .put("B", "carbomer", "0.3")
        .put("A", "beeswax", "15")
        .put("C", "jojoba-oil", "25")
    )
    said = {rule for rule in PAIRS if findings(cream.case(), rule)}
    assert said == set()


def test_benzoate_and_acid_alone_are_no_salt_against_carbomer() -> None:
    cream = CARBOMER_CREAM.put("A", "sodium-benzoate", "0.6")
    assert findings(cream.case(), "salt-against-thickener") == []


def test_a_little_salt_is_let_pass() -> None:
    few = CARBOMER_GEL.put("A", "sodium-chloride", "0.4")
    assert findings(few.case(), "salt-against-thickener") == []
    more = CARBOMER_GEL.put("A", "sodium-chloride", "0.5")
    assert findings(more.case(), "salt-against-thickener")


def test_much_oil_is_not_doubted_when_somebody_looked() -> None:
    cream = OIL_IN_WATER.put("B", "rice-bran-oil", "50")
    assert findings(cream.case(observed="oil-in-water"), "much-oil-for-oil-in-water") == []


def test_what_goes_in_warm_is_not_cold() -> None:
    cream = OIL_IN_WATER.put("C", "rose-hydrosol", "25")
    warm = cream.doing(step("s5", "add", add="C", into="the cream", below="60"))
    assert findings(warm.case(), "much-added-cold") == []


def test_an_unknown_material_leaves_the_ratio_unsaid() -> None:
    unknown = LIGHT.put("B", "grandmothers-oil", "3")
    assert findings(unknown.case(), "little-emulsifier-for-the-oils") == []


def test_a_blend_counts_by_its_parts() -> None:
    """A pigment paste that is half oil makes the oil phase larger."""
    from decimal import Decimal

    from labbook.model.materials import Ingredient, Part

    paste = Ingredient(
        id="paste",
        functions=("blend",),
        contains=(
            Part(ingredient="titanium-dioxide", percent=Decimal(50)),
            Part(ingredient="sunflower-oil", percent=Decimal(50)),
        ),
    )
    lotion = LIGHT.put("B", "cetearyl-glucoside", "1.2").put("B", "paste", "10")
    with_paste = lotion.but(sheets={**lotion.sheets, "paste": paste})
    (found,) = findings(with_paste.case(), "little-emulsifier-for-the-oils")
    assert "to 16.5 % oils" in found.what
