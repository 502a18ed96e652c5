"""What is said of small lines, and that every rule has its pair of near formulas.

Half a division within 5 % of the line: bench rule, common practice, no source.
"""

import pytest

from labbook.model.rules import CheckRule
from labbook.trade.balance import Balance
from labbook.trade.checks.case import Unseen
from tests.trade.checks import (
    test_anhydrous,
    test_emulsion,
    test_gel,
    test_heat,
    test_oil_in_water,
    test_preserving,
)
from tests.trade.checks.recipes import (
    CHECK_ROWS,
    OIL_IN_WATER,
    WATER_IN_OIL,
    Pair,
    findings,
    proves,
    unseen,
)
from tests.trade.making import exact

COARSE = Balance(readability=exact("0.1"))
RULE = "too-small-for-the-balance"
CREAM = WATER_IN_OIL.put("B", "sodium-chloride", "1").but(balance=COARSE)

PAIRS = {
    # 0.5 % of 100 g on 0.1 g: half a step is 10 % of it; 5 % are reached at 1 g, a 200 g batch
    RULE: Pair(
        CREAM.case(),
        CREAM.but(size="200").case(),
        ("0.5 g sodium-benzoate in a batch of 100 g", "shows steps of 0.1 g",
         "half a step is 10 % of it; 5 % is wanted"),
    ),
}  # fmt: skip


@pytest.mark.parametrize("rule", PAIRS)
def test_a_rule_speaks_of_one_and_not_of_the_other(rule: str) -> None:
    flagged = [one for one in findings(PAIRS[rule].flagged, rule) if "benzoate" in one.what]
    assert flagged
    proves(rule, PAIRS[rule])


def test_the_batch_is_named_from_which_it_does() -> None:
    found = findings(WATER_IN_OIL.but(balance=COARSE).case(), RULE)
    salts = [one for one in found if "benzoate" in one.what]
    assert "A batch of 200 g is large enough for it" in salts[0].mend
    assert "Or dissolve" in salts[0].mend


def test_a_line_that_the_balance_shows_as_nothing_is_named_whatever_it_is_for() -> None:
    cream = WATER_IN_OIL.put("C", "tocopherol", "0.02").but(balance=COARSE)
    lost = [one for one in findings(cream.case(), RULE) if "tocopherol" in one.what]
    assert "0.02 g tocopherol in a batch of 100 g" in lost[0].what
    assert "and this as nothing" in lost[0].what
    assert "A batch of 5000 g is large enough for it" in lost[0].mend


def test_oils_and_what_fills_up_want_no_exactness() -> None:
    cream = WATER_IN_OIL.put("C", "tocopherol", "0.4").but(balance=COARSE)
    assert not [one for one in findings(cream.case(), RULE) if "tocopherol" in one.what]


def test_without_a_balance_it_is_said_that_nobody_looked() -> None:
    cream = WATER_IN_OIL.but(balance=None).case()
    assert findings(cream, RULE) == []
    assert Unseen(RULE, "the readability of the notebook's balance") in unseen(cream)


def test_a_batch_has_been_weighed() -> None:
    assert findings(WATER_IN_OIL.but(balance=COARSE).made({}), RULE) == []


def test_on_a_fine_balance_nothing_is_too_small() -> None:
    assert findings(OIL_IN_WATER.case(), RULE) == []


# All rules ---------------------------------------------------------------------------------------

ELSEWHERE = {"over-highest-use", "outside-usual-use"}
"""Rules of plain bounds, which have their own tests."""


def test_every_rule_has_a_pair_of_near_formulas() -> None:
    modules = (test_anhydrous, test_emulsion, test_gel, test_heat, test_oil_in_water,
               test_preserving)  # fmt: skip
    proven = {rule for module in modules for rule in module.PAIRS} | set(PAIRS)
    assert proven == {row.rule for row in CHECK_ROWS} - ELSEWHERE


@pytest.mark.parametrize("row", CHECK_ROWS, ids=[row.rule for row in CHECK_ROWS])
def test_every_row_says_what_it_rests_on(row: CheckRule) -> None:
    assert row.title
    assert row.severity
    assert row.mend
    assert row.source
    for text in (row.title, row.why or "", row.mend):
        for word in ("please", "successfully", "invalid", "!"):
            assert word not in text.casefold()
