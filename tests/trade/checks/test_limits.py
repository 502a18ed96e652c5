"""Limits of law on formulas and batches: regions, uses, blends, uncertainty, what can't be told."""

from __future__ import annotations

from dataclasses import replace
from datetime import date
from decimal import Decimal
from fractions import Fraction

import pytest

from labbook.model.batch import Batch
from labbook.model.formula import Use
from labbook.model.materials import Ingredient, Part
from labbook.model.problems import Severity
from labbook.model.rulebook import RuleBook
from labbook.model.rules import CheckRule, LegalLimit
from labbook.trade.advice import Advice
from labbook.trade.checks import look
from labbook.trade.checks.case import Case, Unseen
from labbook.trade.checks.limits import UNCOVERED, limits, months_between
from labbook.trade.checks.regions import regions_of
from tests.trade.checks.recipes import OIL_IN_WATER, RULES, Recipe, findings

SORBATE = OIL_IN_WATER.put("A", "potassium-sorbate", "0.81")
TODAY = date(2026, 4, 16)


def case(recipe: Recipe, region: str = "EU", use: Use | None = "leave-on", **more: object) -> Case:
    found = replace(recipe.case(), region=region, today=TODAY, **more)  # type: ignore[arg-type]
    return replace(found, formula=replace(found.formula, use=use))


def said(of: Case) -> list[Advice]:
    return [one for one in limits(of) if isinstance(one, Advice)]


def unseen(of: Case) -> list[Unseen]:
    return [one for one in limits(of) if isinstance(one, Unseen)]


def test_sorbate_over_its_limit_as_acid_says_figure_reason_and_remedy() -> None:
    found = said(case(SORBATE))
    assert [one.rule for one in found] == ["eu-sorbic-acid"]
    advice = found[0]
    assert advice.severity is Severity.ERROR
    assert "0.81 % potassium-sorbate counts as 0.605 % sorbic-acid" in advice.what
    assert "the EU allows 0.6 % at most" in advice.what
    assert "entry 4, read as of 2015-08-10; it may have changed since." in advice.why
    assert advice.mend.startswith("At most 0.80 % potassium-sorbate.")
    assert advice.source
    assert said(case(SORBATE.put("A", "potassium-sorbate", "0.80"))) == []


def test_the_figure_just_over_a_limit_never_reads_as_the_limit() -> None:
    advice = said(case(OIL_IN_WATER.put("A", "sorbic-acid", "0.60001")))[0]
    assert "0.60001 % sorbic-acid" in advice.what or "0.60001" in advice.what


# Regions and uses --------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("written", "names", "assumed"),
    [
        ("", ("EU",), True), ("EU", ("EU",), False), ("eu", ("EU",), False),
        ("Germany", ("EU",), False), ("United Kingdom", ("UK",), False),
        ("EU, UK", ("EU", "UK"), False), ("Brazil", ("EU",), True), ("US", ("EU",), True),
        ("EU, US", ("EU",), False),
    ],
)  # fmt: skip
def test_a_region_in_the_words_of_makers(
    written: str, names: tuple[str, ...], assumed: bool
) -> None:
    found = regions_of(written, ("EU", "UK"))
    assert (found.names, found.assumed) == (names, assumed)
    assert bool(found.said) is (written in ("", "Brazil", "US", "EU, US"))


def test_without_a_region_the_eu_is_a_hint_only() -> None:
    assert said(case(SORBATE, region=""))[0].severity is Severity.WARNING
    assert said(case(SORBATE, region="EU"))[0].severity is Severity.ERROR


def test_another_regions_table_doesnt_speak() -> None:
    assert said(case(SORBATE, region="UK")) == []  # that table knows benzoates only
    benzoate = OIL_IN_WATER.put("A", "sodium-benzoate", "0.6")
    assert [one.rule for one in said(case(benzoate, region="UK"))] == ["uk-benzoic-acid-leave-on"]


def test_the_kind_of_product_decides() -> None:
    benzoate = OIL_IN_WATER.put("A", "sodium-benzoate", "0.6")
    assert [one.rule for one in said(case(benzoate))] == ["eu-benzoic-acid-leave-on"]
    assert said(case(benzoate, use="rinse-off")) == []
    unsaid = said(case(benzoate, use=None))
    assert [one.rule for one in unsaid] == ["eu-benzoic-acid-leave-on"]
    assert "names no use" in unsaid[0].why


# Blends and what nobody knows --------------------------------------------------------------------


def test_a_part_of_a_blend_counts() -> None:
    blend = "phenoxyethanol-ethylhexylglycerin"  # nine parts in ten
    over = said(case(OIL_IN_WATER.put("A", blend, "1.12")))
    assert [one.rule for one in over] == ["eu-phenoxyethanol"]
    assert f"1.008 % phenoxyethanol (in {blend})" in over[0].what
    assert over[0].mend.startswith(f"At most 1.11 % {blend}.")
    assert said(case(OIL_IN_WATER.put("A", blend, "1.11"))) == []


def test_a_blend_that_doesnt_say_how_much_is_named() -> None:
    blend = Ingredient(
        id="p1", functions=("preservative", "blend"), contains=(Part(ingredient="phenoxyethanol"),)
    )
    recipe = replace(OIL_IN_WATER, sheets={**OIL_IN_WATER.sheets, "p1": blend}).put("A", "p1", "1")
    of = case(recipe)
    assert said(of) == []
    assert any("how much phenoxyethanol is in it" in one.lacks for one in unseen(of))


def test_a_salt_of_unknown_mass_is_within_where_it_would_be_as_it_is() -> None:
    row = LegalLimit(
        name="studio", region="EU", ingredients=("magic-salt",), counted_as="magic-acid",
        highest=Decimal("0.5"), text="house rule", read=TODAY, source="the potter",
    )  # fmt: skip
    rules = replace(RULES, limits={"studio": row})
    at = {p: case(OIL_IN_WATER.put("A", "magic-salt", p).but(rules=rules)) for p in ("0.5", "0.6")}
    assert not any("molar mass" in one.lacks for one in unseen(at["0.5"]))
    assert any("molar mass" in one.lacks for one in unseen(at["0.6"]))
    assert said(at["0.5"]) == said(at["0.6"]) == []


def test_a_sheet_is_found_by_the_name_of_its_label() -> None:
    own = Ingredient(id="keeper", inci="Phenoxyethanol", functions=("preservative",))
    recipe = replace(OIL_IN_WATER, sheets={**OIL_IN_WATER.sheets, "keeper": own})
    found = said(case(recipe.put("A", "keeper", "1.2")))
    assert [one.rule for one in found] == ["eu-phenoxyethanol"]


def test_a_preservative_without_a_row_is_listed_never_fine() -> None:
    of = case(OIL_IN_WATER.put("A", "p-anisic-acid", "0.2"))
    assert Unseen(UNCOVERED, "a limit of law in the tables", "p-anisic-acid") in unseen(of)
    assert not any(one.ingredient == "sunflower-oil" for one in unseen(of))


def test_a_condition_that_no_figure_tests_is_listed() -> None:
    of = case(OIL_IN_WATER.put("A", "dehydroacetic-acid", "0.2"))
    assert any("not in sprays" in one.lacks for one in unseen(of))


# Batches -----------------------------------------------------------------------------------------


def made(recipe: Recipe, percent: str, doubt: str) -> Case:
    of = case(recipe.put("A", "phenoxyethanol", percent))
    line = next(x for x in of.composition.lines if x.ingredient == "phenoxyethanol")
    batch: Batch | None = recipe.made({}).batch
    return replace(of, batch=batch, uncertainty={line.index: Decimal(doubt)})


def test_a_batch_counts_at_the_upper_end_of_its_weighing() -> None:
    within = made(OIL_IN_WATER, "0.98", "0.009")  # 0.98 + 2 * 0.009 = 0.998
    reaches = made(OIL_IN_WATER, "0.98", "0.011")  # 1.002
    over = made(OIL_IN_WATER, "1.01", "0.001")
    assert said(within) == []
    assert [one.severity for one in said(reaches)] == [Severity.WARNING]
    assert "give or take 0.022" in said(reaches)[0].what
    assert "may be over the 1.0 %" in said(reaches)[0].what
    assert [one.severity for one in said(over)] == [Severity.ERROR]


# A notebook's own word ---------------------------------------------------------------------------

HOUSE = LegalLimit(
    name="studio-glycerin", region="house", ingredients=("glycerin",), highest=Decimal(3),
    text="house rule", read=TODAY, source="the potter", severity="warning",
)  # fmt: skip


def own(rules: RuleBook, *names: str) -> RuleBook:
    return replace(rules, own=frozenset(names))


def test_a_notebooks_own_limit_holds_whatever_its_region() -> None:
    rules = own(replace(RULES, limits={**RULES.limits, HOUSE.name: HOUSE}), HOUSE.name)
    found = said(case(OIL_IN_WATER.but(rules=rules)))
    assert [one.rule for one in found] == ["studio-glycerin"]
    assert found[0].severity is Severity.WARNING
    assert said(case(OIL_IN_WATER)) == []


def test_a_row_of_checks_softens_or_silences_a_limit() -> None:
    for severity in ("note", "off"):
        row = CheckRule(rule="eu-sorbic-acid", severity=severity)
        rules = replace(RULES, checks={**RULES.checks, row.rule: row})
        of = case(SORBATE.but(rules=rules))
        found = [one for one in look(of).advice if one.rule == "eu-sorbic-acid"]
        assert [one.severity.value for one in found] == ([] if severity == "off" else ["note"])
    assert findings(case(SORBATE), "eu-sorbic-acid")[0].severity is Severity.ERROR


def test_months_are_whole_ones() -> None:
    assert months_between(date(2024, 4, 17), date(2026, 4, 16)) == 23
    assert months_between(date(2024, 4, 16), date(2026, 4, 16)) == 24


@pytest.mark.parametrize(("read", "old"), [(date(2024, 4, 16), False), (date(2024, 3, 16), True)])
def test_a_text_older_than_two_years_may_have_changed(read: date, old: bool) -> None:
    row = replace(HOUSE, read=read)
    rules = own(replace(RULES, limits={HOUSE.name: row}), HOUSE.name)
    why = said(case(OIL_IN_WATER.but(rules=rules)))[0].why
    assert ("may have changed" in why) is old
    assert Fraction(row.highest) == 3
