"""What is said of heat.

Temperatures are those of the starter sheets; the gap of 5 °C is common practice, no source.
"""

from decimal import Decimal

import pytest

from labbook.model.materials import Value
from labbook.trade.checks.case import Unseen
from tests.trade.checks.recipes import (
    BALM,
    OIL_IN_WATER,
    WATER_IN_OIL,
    Pair,
    done,
    findings,
    proves,
    step,
    unseen,
)

HOT = OIL_IN_WATER.out("benzyl-alcohol").put("A", "benzyl-alcohol", "0.8")
GLASSY = OIL_IN_WATER.put("B", "carnauba-wax", "1")
STEARATE = OIL_IN_WATER.put("B", "glyceryl-stearate-se", "3")


PAIRS = {
    "above-highest-temperature": Pair(
        HOT.case(),
        OIL_IN_WATER.case(),
        ("benzyl-alcohol is heated to 75 °C", "names 45 °C as the highest temperature"),
    ),
    "melts-above-heating": Pair(
        GLASSY.case(),
        GLASSY.doing(step("s2", "heat", {"A": "75", "B": "88"})).case(),
        ("carnauba-wax melts at 82 to 85.5 °C by its sheet; phase B is heated to 75 °C",),
    ),
    "emulsifier-melts-above-heating": Pair(
        STEARATE.doing(step("s2", "heat", {"A": "60", "B": "60"})).case(),
        STEARATE.case(),
        ("glyceryl-stearate-se melts at 54 to 64 °C by its sheet; phase B is heated to 60 °C",),
    ),
    "phases-apart-when-combined": Pair(
        WATER_IN_OIL.made({"s3": done({"A": "71", "B": "58"})}),
        WATER_IN_OIL.made({"s3": done({"A": "71", "B": "66"})}),
        ("Phase B was at 58 °C and phase A at 71 °C when combined, 13 °C apart",
         "beeswax melts at 62 °C"),
    ),
    "combined-below-melting": Pair(
        WATER_IN_OIL.made({"s3": done({"A": "48", "B": "45"})}),
        WATER_IN_OIL.made({"s3": done({"A": "68", "B": "65"})}),
        ("Phase B was at 45 °C and phase A at 48 °C when combined; beeswax melts at 62 °C",),
    ),
    "one-phase-cold": Pair(
        WATER_IN_OIL.doing(step("s2", "heat", {"A": "72"})).case(),
        WATER_IN_OIL.case(),
        ("heats phase A to 72 °C and says nothing of the other phase; beeswax melts at 62 °C",),
    ),
}  # fmt: skip


@pytest.mark.parametrize("rule", PAIRS)
def test_a_rule_speaks_of_one_and_not_of_the_other(rule: str) -> None:
    proves(rule, PAIRS[rule])


def test_without_the_sheets_figure_there_is_no_finding_but_a_word() -> None:
    silent = HOT.sheet("benzyl-alcohol", highest_temperature=None).case()
    assert findings(silent, "above-highest-temperature") == []
    lacks = Unseen("above-highest-temperature", "a highest temperature", "benzyl-alcohol")
    assert lacks in unseen(silent)
    assert lacks not in unseen(HOT.case())


def test_cool_down_is_no_temperature() -> None:
    """Added late, but nobody says how warm: unknown."""
    vague = OIL_IN_WATER.doing(step("s4", "cool"), step("s5", "add", add="C", into="the cream"))
    assert findings(vague.case(), "above-highest-temperature") == []


@pytest.mark.parametrize(("below", "speaks"), [("45", False), ("46", True), ("70", True)])
def test_a_planned_addition_counts_by_the_highest_that_the_step_allows(
    below: str, speaks: bool
) -> None:
    lotion = OIL_IN_WATER.doing(step("s5", "add", add="C", into="the cream", below=below))
    found = findings(lotion.case(), "above-highest-temperature")
    assert bool(found) is speaks
    if speaks:
        assert f"goes in at up to {below} °C" in found[0].what


def test_stirring_until_tells_how_warm_it_is_when_the_next_goes_in() -> None:
    lotion = OIL_IN_WATER.doing(
        step("s4", "cool", stir_until="55"), step("s5", "add", add="C", into="the cream")
    )
    (found,) = findings(lotion.case(), "above-highest-temperature")
    assert "up to 55 °C" in found.what


def test_right_after_combining_it_is_as_hot_as_the_phases() -> None:
    steps = tuple(one for one in OIL_IN_WATER.method if one.id != "s4")
    lotion = OIL_IN_WATER.but(method=steps).doing(step("s5", "add", add="C", into="the cream"))
    (found,) = findings(lotion.case(), "above-highest-temperature")
    assert "up to 75 °C" in found.what


def test_of_a_batch_what_was_read_counts() -> None:
    warm = OIL_IN_WATER.made({"s5": done({"cream": "52"})})
    (found,) = findings(warm, "above-highest-temperature")
    assert "benzyl-alcohol went in at 52 °C" in found.what
    assert findings(OIL_IN_WATER.made({"s5": done({"cream": "38"})}),
                    "above-highest-temperature") == []  # fmt: skip


def test_what_was_not_read_is_unknown_in_a_batch() -> None:
    """The plan was too hot; whether the batch was, nobody wrote down."""
    assert findings(HOT.made({}), "above-highest-temperature") == []
    (found,) = findings(HOT.made({"s2": done({"A": "74"})}), "above-highest-temperature")
    assert "was heated to 74 °C" in found.what


def test_a_balm_takes_its_additions_by_the_melt() -> None:
    balm = BALM.put("B", "lavender-oil", "0.5")
    (found,) = findings(balm.case(), "above-highest-temperature")
    assert "lavender-oil goes in at up to 60 °C" in found.what
    cooler = balm.doing(step("s3", "add", add="B", into="A", below="40"))
    assert findings(cooler.case(), "above-highest-temperature") == []


def test_a_single_line_that_goes_in_later_is_not_heated_with_its_phase() -> None:
    later = step("s5", "add", add="benzyl-alcohol", into="the cream", below="40")
    assert findings(HOT.doing(later).case(), "above-highest-temperature") == []


def test_a_range_of_grades_counts_from_its_lower_end() -> None:
    """60 to 90 °C are kinds of microcrystalline wax, not one wax that melts slowly."""
    cream = OIL_IN_WATER.put("B", "microcrystalline-wax", "1")
    assert findings(cream.case(), "melts-above-heating") == []
    wide = Value(from_=Decimal(60), to=Decimal(70), unit="°C")
    narrow = cream.sheet("microcrystalline-wax", melting_point=wide)
    cool = narrow.doing(step("s2", "heat", {"A": "65", "B": "65"}))
    assert findings(cool.case(), "melts-above-heating")


def test_a_phase_that_is_not_heated_says_nothing_of_melting() -> None:
    assert findings(GLASSY.but(method=()).case(), "melts-above-heating") == []


def test_fahrenheit_is_understood() -> None:
    from labbook.model.formula import Step
    from labbook.model.quantities import parse_quantity

    hot = Step(id="s2", do="heat", set={k: parse_quantity("167 °F") for k in "AB"})
    (found,) = findings(HOT.doing(hot).case(), "above-highest-temperature")
    assert "is heated to 75 °C" in found.what


def test_phases_apart_by_the_method_are_named_before_weighing() -> None:
    cream = WATER_IN_OIL.doing(step("s2", "heat", {"A": "72", "B": "40"}))
    (found,) = findings(cream.case(), "phases-apart-when-combined")
    assert "Phase B is at 40 °C and phase A at 72 °C when combined, 32 °C apart" in found.what
    assert "Plausible, not certain" in found.why
    cold = WATER_IN_OIL.out("beeswax").doing(step("s2", "adjust", into="B"))
    assert findings(cold.case(), "phases-apart-when-combined") == []


def test_a_gap_and_a_melting_point_are_one_finding() -> None:
    batch = WATER_IN_OIL.made({"s3": done({"A": "71", "B": "58"})})
    assert findings(batch, "combined-below-melting") == []


def test_what_was_never_melted_is_said_once() -> None:
    cold = STEARATE.doing(step("s2", "heat", {"A": "50", "B": "50"}))
    assert findings(cold.case(), "emulsifier-melts-above-heating")
    assert findings(cold.case(), "combined-below-melting") == []


def test_a_reading_while_combining_is_not_how_hot_a_phase_got() -> None:
    batch = WATER_IN_OIL.made({"s3": done({"A": "48", "B": "45"})})
    assert findings(batch, "melts-above-heating") == []


def test_phases_of_one_temperature_are_both_named() -> None:
    batch = WATER_IN_OIL.made({"s2": done({"A": "72", "B": "72"}),
                               "s3": done({"A": "45", "B": "45"})})  # fmt: skip
    (found,) = findings(batch, "combined-below-melting")
    assert "Phase A was at 45 °C and phase B at 45 °C when combined" in found.what
