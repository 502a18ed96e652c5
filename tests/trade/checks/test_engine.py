"""The engine: scope, severity, a batch as it was made, and the names that `help` explains."""

from __future__ import annotations

from dataclasses import replace
from datetime import date
from decimal import Decimal
from fractions import Fraction

from hypothesis import given
from hypothesis import strategies as st

from labbook.model.batch import Batch, BatchLine, Weighing
from labbook.model.rules import CheckRule
from labbook.trade.actual import actual_composition
from labbook.trade.checks import CHECKS, Looked, look, run
from labbook.trade.checks.made import as_made
from labbook.trade.exact import to_places
from tests.trade.checks.recipes import BALANCE, OIL_IN_WATER, RULES, WATER_IN_OIL
from tests.trade.making import PIN, grams

BAD = OIL_IN_WATER.put("A", "potassium-sorbate", "3").put("A", "behentrimonium-methosulfate", "1")


def test_run_gives_the_advice_of_look_each_once() -> None:
    looked: Looked = look(BAD.case())
    assert run(BAD.case()) == looked.advice
    assert len(set(looked.advice)) == len(looked.advice) >= 2
    assert len(CHECKS) >= 20


def test_switched_off_nothing_of_a_rule_is_left() -> None:
    named = {one.rule for one in run(BAD.case())}
    off = {name: CheckRule(rule=name, severity="off") for name in named}
    silent = BAD.but(rules=replace(RULES, checks={**RULES.checks, **off}))
    assert {one.rule for one in run(silent.case())} & named == set()


def test_every_finding_has_a_row_that_help_explains() -> None:
    known = {*RULES.checks, *RULES.pairs, *RULES.limits}
    for recipe in (BAD, WATER_IN_OIL.out("sodium-chloride", "sodium-benzoate", "beeswax")):
        assert {one.rule for one in run(recipe.case())} <= known


def weighed(masses: dict[str, str], extra: tuple[Weighing, ...] = ()) -> Batch:
    lines = tuple(
        BatchLine(id=f"l{n}", phase=phase, ingredient=name, sheet=name)
        for n, (phase, name) in enumerate(
            (phase, name) for phase, own in WATER_IN_OIL.phases.items() for name in own
        )
    )
    by_name = {line.ingredient: line.id for line in lines}
    own = tuple(
        Weighing(id=f"w{n}", line=by_name[name], mass=grams(mass))
        for n, (name, mass) in enumerate(masses.items())
    )
    return Batch(
        id="SBC-260109-4M", state="closed", made=date(2026, 1, 9), formula=PIN,
        size=grams("100"), lines=lines, weighings=(*own, *extra),
    )  # fmt: skip


MASSES = {
    "polyglyceryl-3-diisostearate": "4.50", "sunflower-oil": "12.04", "isopropyl-myristate": "6.00",
    "beeswax": "1.52", "water": "71.20", "glycerin": "3.01", "sodium-chloride": "0.80",
    "sodium-benzoate": "0.50", "citric-acid-20-percent": "0.40", "tocopherol": "0.40",
}  # fmt: skip


def test_a_batch_as_made_adds_up_and_says_what_went_in() -> None:
    extra = Weighing(id="w99", ingredient="lavender-oil", phase="C", mass=grams("0.20"))
    made = as_made(weighed(MASSES, (extra,)), WATER_IN_OIL.formula, WATER_IN_OIL.case().sheets)
    assert made is not None
    total = sum((Fraction(m) for m in MASSES.values()), Fraction()) + Fraction("0.2")
    assert made.composition.complete
    benzoate = next(x for x in made.composition.lines if x.ingredient == "sodium-benzoate")
    assert benzoate.percent is not None
    assert abs(benzoate.percent - 100 * Fraction("0.50") / total) < Fraction(1, 10**11)
    assert made.places[-1] == ("weighings", 10)
    assert [made.places[x.index] for x in made.composition.lines][:3] == [
        ("lines", 0), ("lines", 1), ("lines", 2),
    ]  # fmt: skip
    assert made.composition.lines[-1].ingredient == "lavender-oil"


def test_a_line_that_nobody_weighed_leaves_the_batch_unknown() -> None:
    masses = {name: mass for name, mass in MASSES.items() if name != "tocopherol"}
    case = WATER_IN_OIL.case()
    assert as_made(weighed(masses), WATER_IN_OIL.formula, case.sheets) is None


def test_the_uncertainty_of_a_percent_is_that_of_the_balance() -> None:
    # by JCGM 100:2008, 5.1.2: a line of 0.50 g of 100.37 g, two readings of 0.01 / sqrt(12) each:
    # 0.00408 g, times (1 - p) / M for its own line
    batch, sheets = weighed(MASSES), WATER_IN_OIL.case().sheets
    actual = actual_composition(batch, sheets, balance=BALANCE)
    made = as_made(batch, WATER_IN_OIL.formula, sheets, actual)
    assert made is not None
    found = made.uncertainties
    benzoate = next(x for x in made.composition.lines if x.ingredient == "sodium-benzoate")
    assert to_places(Fraction(found[benzoate.index]), 5) == Decimal("0.00405")


@given(st.lists(st.integers(1, 10**6), min_size=10, max_size=10))
def test_the_percents_of_any_batch_add_up_to_100(milligrams: list[int]) -> None:
    masses = {name: f"{mass / 1000:.3f}" for name, mass in zip(MASSES, milligrams, strict=True)}
    made = as_made(weighed(masses), WATER_IN_OIL.formula, WATER_IN_OIL.case().sheets)
    assert made is not None
    assert sum((x.percent or 0 for x in made.composition.lines), Fraction()) == 100
