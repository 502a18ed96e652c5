"""What is said of balms and butters.

Figures: common practice, no source; melting points are the sheets'.
"""

import pytest

from tests.trade.checks.recipes import BALM, WATER_IN_OIL, Pair, findings, proves

SOFT = BALM.put("A", "candelilla-wax", "3").put("A", "shea-butter", "10")
COCONUT = BALM.out("candelilla-wax").instead("shea-butter", "coconut-oil")

PAIRS = {
    "soft-balm": Pair(
        SOFT.case(),
        SOFT.put("A", "shea-butter", "18").case(),
        ("3 % wax (candelilla-wax) and 10 % butter",),
    ),
    "hard-balm": Pair(
        BALM.put("A", "candelilla-wax", "40").case(),
        BALM.put("A", "candelilla-wax", "30").case(),
        ("40 % wax (candelilla-wax)",),
    ),
    "melts-in-a-warm-room": Pair(
        COCONUT.case(),
        COCONUT.put("A", "beeswax", "8").case(),
        ("30 % of it melts in a warm room of 30 °C", "coconut-oil at 23 to 27 °C"),
    ),
    "water-in-anhydrous": Pair(
        BALM.put("B", "aloe-vera-juice", "2").case(),
        BALM.put("B", "rosemary-extract", "0.2").case(),
        ("1.96 % of the formula is water, brought by aloe-vera-juice",),
    ),
    "water-soluble-in-anhydrous": Pair(
        BALM.put("B", "sodium-bicarbonate", "5").case(),
        BALM.put("B", "corn-starch", "5").case(),
        ("sodium-bicarbonate dissolves in water, not in oil",),
    ),
}


@pytest.mark.parametrize("rule", PAIRS)
def test_a_rule_speaks_of_one_and_not_of_the_other(rule: str) -> None:
    proves(rule, PAIRS[rule])


def test_the_rules_of_balms_leave_creams_alone() -> None:
    cream = WATER_IN_OIL.put("A", "coconut-oil", "15")
    assert {rule for rule in PAIRS if findings(cream.case(), rule)} == set()


def test_an_oil_without_wax_is_not_called_soft() -> None:
    assert findings(BALM.out("candelilla-wax").case(), "soft-balm") == []


def test_a_wax_of_unknown_melting_point_may_hold_it() -> None:
    held = COCONUT.put("A", "beeswax", "8").sheet("beeswax", melting_point=None)
    assert findings(held.case(), "melts-in-a-warm-room") == []


def test_shea_stands_in_a_warm_room() -> None:
    assert findings(BALM.out("candelilla-wax").case(), "melts-in-a-warm-room") == []


def test_an_emulsifier_may_carry_what_dissolves_in_water() -> None:
    cleansing = BALM.put("A", "polysorbate-80", "10").put("B", "glycerin", "2")
    assert findings(cleansing.case(), "water-soluble-in-anhydrous") == []
