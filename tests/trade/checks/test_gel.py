"""What is said of gels.

Figures: common practice, no source; windows and usual use are the sheets'.
"""

import pytest

from tests.trade.checks.recipes import CARBOMER_GEL, GEL, OIL_IN_WATER, Pair, findings, proves, step

THIN = GEL.put("A", "sclerotium-gum", "0.1")
QUICK = GEL.but(method=(step("s1", "disperse", add="sclerotium-gum", into="glycerin"),))

PAIRS = {
    "carbomer-not-neutralised": Pair(
        CARBOMER_GEL.out("sodium-hydroxide-10-percent").case(),
        CARBOMER_GEL.case(),
        ("carbomer swells only when neutralised, and there is no base",),
    ),
    "gellant-outside-its-ph": Pair(
        CARBOMER_GEL.but(pH=("4.5", "5.0")).case(),
        CARBOMER_GEL.but(pH=("5.5", "6.0")).case(),
        ("At the pH of 4.5 to 5 aimed for", "carbomer thickens at pH 5.5 to 9 by its sheet"),
    ),
    "no-gellant": Pair(
        GEL.out("sclerotium-gum").case(),
        GEL.case(),
        ("Nothing in this gel gels.",),
    ),
    "little-gellant": Pair(
        THIN.case(),
        THIN.put("A", "xanthan-gum", "0.1").case(),
        ("0.1 % sclerotium-gum, usual from 0.2 % on",),
    ),
    "no-hydration-step": Pair(
        QUICK.case(),
        QUICK.doing(step("s2", "hydrate")).case(),
        ("no step in which sclerotium-gum can swell",),
    ),
}


@pytest.mark.parametrize("rule", PAIRS)
def test_a_rule_speaks_of_one_and_not_of_the_other(rule: str) -> None:
    proves(rule, PAIRS[rule])


def test_carbomer_in_a_cream_wants_its_base_too() -> None:
    cream = OIL_IN_WATER.instead("xanthan-gum", "carbomer")
    assert findings(cream.case(), "carbomer-not-neutralised")


def test_a_formula_without_a_method_has_no_step_to_miss() -> None:
    assert findings(GEL.but(method=()).case(), "no-hydration-step") == []


def test_an_unknown_material_may_be_the_base_or_the_gellant() -> None:
    gel = CARBOMER_GEL.instead("sodium-hydroxide-10-percent", "suppliers-neutraliser")
    assert findings(gel.case(), "carbomer-not-neutralised") == []
    unknown = GEL.instead("sclerotium-gum", "suppliers-gum")
    assert findings(unknown.case(), "no-gellant") == []


def test_a_gum_without_usual_use_is_not_called_little() -> None:
    assert findings(THIN.sheet("sclerotium-gum", usual_use=None).case(), "little-gellant") == []
