"""Plain bounds: the highest and the usual use of a sheet, and a notebook's own amounts."""

from __future__ import annotations

from dataclasses import replace
from decimal import Decimal

import pytest

from labbook.model.problems import Severity
from labbook.model.rules import CheckRule, Selector
from labbook.trade.advice import Advice
from labbook.trade.checks.bounds import bounds
from labbook.trade.checks.case import Case, Unseen
from tests.trade.checks.recipes import OIL_IN_WATER, RULES, WATER_IN_OIL, findings, unseen
from tests.trade.making import value

HIGHEST, USUAL = "over-highest-use", "outside-usual-use"


def test_the_highest_use_of_a_sheet() -> None:
    base = OIL_IN_WATER.put("A", "fragrance", "0.5").sheet("fragrance", highest_use=value("0.5"))
    assert findings(base.case(), HIGHEST) == []
    found = findings(base.put("A", "fragrance", "0.51").case(), HIGHEST)
    assert "0.51 % fragrance is above the 0.5 %" in found[0].what
    assert found[0].severity is Severity.WARNING


def test_lines_of_one_ingredient_count_together() -> None:
    base = OIL_IN_WATER.sheet("glycerin", highest_use=value("5"))
    assert findings(base.case(), HIGHEST) == []  # 4 % in phase A
    assert len(findings(base.put("B", "glycerin", "1.5").case(), HIGHEST)) == 1


def test_no_figure_no_finding_and_another_unit_is_said() -> None:
    base = OIL_IN_WATER.put("A", "fragrance", "9")
    assert findings(base.sheet("fragrance", highest_use=None).case(), HIGHEST) == []
    case = base.sheet("fragrance", highest_use=value("5", "g")).case()
    assert findings(case, HIGHEST) == []
    assert Unseen(HIGHEST, "a highest use in %", "fragrance") in unseen(case)


def test_far_from_the_usual_is_a_note_and_near_it_is_nothing() -> None:
    base = OIL_IN_WATER.sheet("xanthan-gum", usual_use=value("0.2-0.5"))
    for percent, count in (("0.5", 0), ("0.75", 0), ("0.76", 1), ("0.14", 0), ("0.13", 1)):
        found = findings(base.put("A", "xanthan-gum", percent).case(), USUAL)
        assert len(found) == count, percent
        assert all(one.severity is Severity.NOTE for one in found)


def test_oils_have_no_usual_use() -> None:
    base = OIL_IN_WATER.sheet("sunflower-oil", usual_use=value("2-5"))
    assert findings(base.put("B", "sunflower-oil", "30").case(), USUAL) == []


# Bounds of a notebook ----------------------------------------------------------------------------


def bound(where: str, low: str | None, high: str | None, *names: str) -> CheckRule:
    return CheckRule(
        rule="studio-rule", severity="warning", of=Selector(ingredients=names), where=where,
        from_=None if low is None else Decimal(low), to=None if high is None else Decimal(high),
        why="The hands say so.", mend="Change it.", source="the potter",
    )  # fmt: skip


def said(row: CheckRule, recipe_case: Case) -> list[Advice]:
    rules = replace(RULES, checks={**RULES.checks, row.rule: row})
    found = bounds(replace(recipe_case, rules=rules))
    return [one for one in found if isinstance(one, Advice) and one.rule == "studio-rule"]


SBC = WATER_IN_OIL.case()  # A: 24 %, B: 75.6 %, C: 0.4 %


@pytest.mark.parametrize(
    ("where", "names", "inside", "outside"),
    [
        # beeswax 1.5 % of the formula; of phase A, 24 %: 6.25 %; of the oils, 19.9 %: 7.54 %
        ("formula", ("beeswax",), "1.5", "1.4"),
        ("oil phase", ("beeswax",), "6.25", "6.24"),
        ("oils", ("beeswax",), "7.54", "7.53"),
        # sodium chloride 0.8 % of 75.6 %: 1.058 %
        ("water phase", ("sodium-chloride",), "1.06", "1.05"),
        # tocopherol is all of phase C
        ("other phase", ("tocopherol",), "100", "99"),
        # two together: 3.8 % of 75.6 %: 5.03 %
        ("water phase", ("sodium-chloride", "glycerin"), "5.03", "5.02"),
    ],
)  # fmt: skip
def test_a_bound_in_each_place(
    where: str, names: tuple[str, ...], inside: str, outside: str
) -> None:
    assert said(bound(where, None, inside, *names), SBC) == []
    found = said(bound(where, None, outside, *names), SBC)
    assert len(found) == 1
    assert f"at most {outside} % is wanted" in found[0].what
    assert found[0].line is not None


def test_a_lower_bound_asks_for_what_isnt_there() -> None:
    assert said(bound("formula", "1.5", None, "beeswax"), SBC) == []
    assert "at least 1.6 %" in said(bound("formula", "1.6", None, "beeswax"), SBC)[0].what
    missing = said(bound("formula", "1", None, "candelilla-wax"), SBC)
    assert len(missing) == 1
    assert missing[0].line is None
    assert said(bound("formula", None, "1", "candelilla-wax"), SBC) == []


def test_a_bound_keeps_to_its_types_and_can_be_off() -> None:
    row = bound("formula", None, "1", "beeswax")
    assert said(replace(row, emulsions=("anhydrous",)), SBC) == []
    assert len(said(replace(row, emulsions=("water-in-oil",)), SBC)) == 1
    assert said(replace(row, severity="off"), SBC) == []


def test_a_place_that_isnt_known_is_said() -> None:
    row = bound("water phase", None, "1", "glycerin")
    dry = WATER_IN_OIL.out("water", "citric-acid-20-percent").case()
    rules = replace(RULES, checks={**RULES.checks, row.rule: row})
    found = [one for one in bounds(replace(dry, rules=rules)) if one.rule == "studio-rule"]
    assert found == [Unseen("studio-rule", "the percent of water phase")]
