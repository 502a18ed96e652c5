"""What doesn't go together: for each row two near formulas, one flagged and one not."""

from __future__ import annotations

from dataclasses import replace
from decimal import Decimal

import pytest

from labbook.model.materials import Ingredient, Part
from labbook.model.problems import Severity
from labbook.model.rules import BadPair, CheckRule, Selector
from labbook.trade.checks.case import Case, Unseen
from labbook.trade.checks.pairs import pairs
from tests.trade.checks.recipes import (
    OIL_IN_WATER,
    RULES,
    WATER_IN_OIL,
    Recipe,
    findings,
    pH_reading,
    unseen,
)

BARE = OIL_IN_WATER.but(
    phases={"A": {"water": "qs", "glycerin": "3"}, "B": {"sunflower-oil": "15"}}, method=(), pH=None
)
OUTSIDE = BARE.but(emulsion="water-in-oil")


def recipe(base: Recipe, *names: str) -> Recipe:
    for name in names:
        base = base.put("A", name, "1")
    return base


# rule, the two, and what stands instead of the second in the formula that is left alone
PAIRS = [
    ("metal-soap-with-acid", "magnesium-stearate", "lactic-acid", "sodium-lactate"),
    ("zinc-oxide-with-acid", "zinc-oxide", "citric-acid", "sodium-chloride"),
    ("benzoate-with-ascorbic-acid", "sodium-benzoate", "ascorbic-acid", "ascorbyl-palmitate"),
    ("nitrosating-with-amine", "bronopol", "triethanolamine", "sodium-hydroxide"),
    ("formaldehyde-donor-with-amine", "dmdm-hydantoin", "arginine", "sodium-hydroxide"),
    ("anionic-with-cationic", "xanthan-gum", "behentrimonium-methosulfate", "polysorbate-60"),
    ("carbomer-with-electrolyte", "carbomer", "sodium-chloride", "xanthan-gum"),
    ("alginate-with-calcium", "sodium-alginate", "calcium-chloride-dihydrate", "sodium-chloride"),
    ("gluconolactone-turns-acid", "gluconolactone", "niacinamide", "panthenol"),
    ("urea-with-acid-preservative", "urea", "potassium-sorbate", "phenoxyethanol"),
    ("chelator-with-cationic", "disodium-edta", "behentrimonium-methosulfate", "polysorbate-60"),
    ("chelator-with-metal-salt", "disodium-edta", "magnesium-sulfate-heptahydrate", "glycerin"),
    ("chelator-with-metal-soap", "sodium-phytate", "magnesium-stearate", "stearic-acid"),
    ("paraben-with-ethoxylate", "methylparaben", "polysorbate-80", "cetearyl-glucoside"),
    ("carbonate-with-acid", "sodium-bicarbonate", "citric-acid", "sodium-citrate-dihydrate"),
    ("ascorbic-acid-with-iron", "ascorbic-acid", "iron-oxides", "mica"),
    ("salicylate-with-iron", "salicylic-acid", "iron-oxides", "mica"),
    ("tanning-sugar-with-amine", "dihydroxyacetone", "urea", "glycerin"),
    ("cationic-preservative-with-anionic", "benzalkonium-chloride", "xanthan-gum", "guar-gum"),
]
# and those that need a pH: the pH aimed for that is flagged, and the near one that isn't
BY_PH = [
    ("soap-with-acid", "glyceryl-stearate-se", "lactic-acid", "5.2", "5.6"),
    ("stearic-soap-with-acid", "sodium-hydroxide", "stearic-acid", "5.8", "6.2"),
    ("niacinamide-with-acid", "niacinamide", "lactic-acid", "4.8", "5.0"),
    ("niacinamide-with-base", "niacinamide", "arginine", "7.2", "7.0"),
]


@pytest.mark.parametrize(("rule", "one", "other", "instead"), PAIRS)
def test_a_pair_is_flagged_and_its_neighbour_not(
    rule: str, one: str, other: str, instead: str
) -> None:
    bad, near = recipe(BARE, one, other), recipe(BARE, one, instead)
    found = findings(bad.case(), rule)
    assert len(found) == 1
    assert one in found[0].what
    assert other in found[0].what
    assert found[0].why
    assert found[0].mend
    assert found[0].source
    assert findings(near.case(), rule) == []
    assert findings(recipe(BARE, other).case(), rule) == []


@pytest.mark.parametrize(("rule", "one", "other", "bad", "good"), BY_PH)
def test_a_pair_that_minds_the_pH(rule: str, one: str, other: str, bad: str, good: str) -> None:
    base = recipe(BARE, one, other)
    found = findings(base.but(pH=(bad, bad)).case(), rule)
    assert len(found) == 1
    assert f"the pH aimed for goes to {bad}" in found[0].what
    assert findings(base.but(pH=(good, good)).case(), rule) == []
    assert findings(base.case(), rule) == []
    lacking = {one_.rule for one_ in unseen(base.case())}
    assert rule in lacking  # no pH: said, never taken for fine


def test_every_shipped_pair_has_its_two_near_formulas() -> None:
    assert set(RULES.pairs) == {row[0] for row in PAIRS} | {row[0] for row in BY_PH}
    assert len(RULES.pairs) >= 15


def test_a_measured_pH_counts_for_a_batch() -> None:
    base = recipe(BARE, "niacinamide", "lactic-acid").but(pH=("5.5", "6"))
    sour = base.made({}, pH_reading("4.6"))
    assert len(findings(sour, "niacinamide-with-acid")) == 1
    assert findings(base.made({}, pH_reading("5.4")), "niacinamide-with-acid") == []


def test_rules_of_oil_in_water_stay_out_of_water_in_oil() -> None:
    both = [recipe(base, "carbomer", "sodium-chloride").case() for base in (BARE, OUTSIDE)]
    assert [len(findings(case, "carbomer-with-electrolyte")) for case in both] == [1, 0]


def test_parts_of_blends_meet_what_stands_beside_the_blend() -> None:
    blend = Ingredient(
        id="mix", functions=("blend",), contains=(Part(ingredient="sodium-benzoate", percent=None),)
    )
    base = replace(BARE, sheets={**BARE.sheets, "mix": blend})
    rule = "benzoate-with-ascorbic-acid"
    assert findings(recipe(base, "mix", "ascorbic-acid").case(), rule) == []
    known = replace(
        blend,
        contains=(
            Part(ingredient="sodium-benzoate", percent=Decimal(50)),
            Part(ingredient="glycerin", percent=Decimal(50)),
        ),
    )
    base = replace(BARE, sheets={**BARE.sheets, "mix": known})
    found = findings(recipe(base, "mix", "ascorbic-acid").case(), rule)
    assert len(found) == 1


def test_one_material_is_no_pair_with_itself() -> None:
    """Gluconolactone is an acid, and citric acid a chelator: neither meets itself."""
    for name in ("gluconolactone", "citric-acid", "sodium-citrate-dihydrate"):
        assert [
            one for one in pairs(recipe(BARE, name).case()) if not isinstance(one, Unseen)
        ] == []


OWN = BadPair(
    rule="clay-with-glycerin", one=Selector(ingredients=("kaolin",)),
    other=Selector(ingredients=("glycerin",)), what="{one} is wetted by {other}", why="It clumps.",
    mend="Stir it into the oil.", source="seen twice in the studio", same_phase=True,
)  # fmt: skip


def with_own(base: Recipe, row: BadPair = OWN) -> Recipe:
    return base.but(rules=replace(RULES, pairs={**RULES.pairs, row.rule: row}))


def test_a_notebooks_own_pair_and_the_phase_that_they_meet_in() -> None:
    together = with_own(BARE.put("A", "kaolin", "2")).case()
    apart = with_own(BARE.put("B", "kaolin", "2")).case()
    found = findings(together, "clay-with-glycerin")
    assert [one.what for one in found] == ["kaolin (2 %) is wetted by glycerin (3 %)."]
    assert findings(apart, "clay-with-glycerin") == []


@pytest.mark.parametrize("severity", ["off", "note", "error"])
def test_a_pair_is_softened_hardened_or_silenced(severity: str) -> None:
    row = CheckRule(rule="carbonate-with-acid", severity=severity)
    base = recipe(BARE, "sodium-bicarbonate", "citric-acid")
    case: Case = base.but(rules=replace(RULES, checks={**RULES.checks, row.rule: row})).case()
    found = findings(case, "carbonate-with-acid")
    assert [one.severity for one in found] == ([] if severity == "off" else [Severity(severity)])


def test_the_sound_recipes_have_no_bad_pair() -> None:
    for base in (WATER_IN_OIL, OIL_IN_WATER):
        assert not [one for one in pairs(base.case()) if not isinstance(one, Unseen)]
