"""What blends bring counts as the ingredient itself; what their sheets leave open is undecided."""

from dataclasses import replace
from decimal import Decimal
from typing import Any

import pytest

from labbook.evidence.factors import Question, ask, ask_formula
from labbook.evidence.trial import trial_of
from labbook.model.batch import Batch
from labbook.model.fields import Qs
from labbook.model.formula import Formula, Line, Phase
from labbook.model.materials import Ingredient, Part
from labbook.model.quantities import parse_number as n
from labbook.model.sheets import Sheets
from tests.evidence.factors.notebooks import (
    FORMULA,
    SHEETS,
    a_batch,
    a_book,
    a_rule,
    named,
    sides,
    split_from,
)


def part(name: str, percent: str | None) -> Part:
    return Part(ingredient=name, percent=None if percent is None else Decimal(percent))


def blend(name: str, *functions: str, **parts: str | None) -> Ingredient:
    contains = tuple(part(key.replace("_", "-"), share) for key, share in parts.items())
    return Ingredient(id=name, functions=functions or ("blend",), contains=contains)


PASTE = blend("paste", castor_oil="50", iron_oxides="50")
OTHER = blend("other-paste", "pigment", castor_oil="20", iron_oxides="80")
DEEP = blend("deep-paste", paste="50", sunflower_oil="50")
OPEN = blend("open-paste", iron_oxides="50")
UNSAID = blend("unsaid-paste", iron_oxides="50", castor_oil=None)
OILS = ("castor-oil", "oil"), ("iron-oxides", "pigment")
KNOWN = Sheets(
    {
        **SHEETS.by_file,
        **{name: Ingredient(id=name, functions=(use,)) for name, use in OILS},
        **{one.id: one for one in (PASTE, OTHER, DEEP, OPEN, UNSAID)},
    }
)
GOOD = a_batch("4M")


def with_(short: str, day: int = 1, **lines: str) -> Batch:
    """A batch with further lines in the oil phase."""
    return a_batch(short, day, lines={k.replace("_", "-"): ("A", v) for k, v in lines.items()})


def asked(bad: Batch, *others: Batch, good: Batch = GOOD, rules: Any = ()) -> Question:
    rows = [(one, True) for one in others]
    book = a_book((bad, False), (good, True), *rows, rules=rules, sheets=KNOWN)
    return ask(book, bad.id, good.id)


def test_a_batch_has_what_its_blends_bring() -> None:
    bad = with_("9T", castor_oil="4")
    others = [
        with_("1A", 2, paste="8"), with_("2B", 3, deep_paste="16"), with_("3C", 4, paste="2"),
        with_("5D", 5, castor_oil="2", paste="4"), with_("6E", 6, iron_oxides="4"),
    ]  # fmt: skip
    assert sides(asked(bad, *others), "castor-oil") == {
        "9T": True, "4M": False, "1A": True, "2B": True, "3C": None, "5D": True, "6E": False,
    }  # fmt: skip


def test_a_part_of_a_bulk_has_what_the_blends_of_the_bulk_bring() -> None:
    bulk = with_("2P", 3, paste="8")
    found = asked(with_("9T", castor_oil="4"), split_from(bulk, "5A"))
    assert sides(found, "castor-oil")["5A"] is True


def test_of_a_blend_that_differs_the_components_are_consequences() -> None:
    found = asked(with_("9T", paste="8"))
    assert list(named(found)) == ["paste"]
    assert [(i.what, i.a, i.b) for i in found.factors[0].folded] == [
        ("castor-oil", "4.00 %", "none"), ("iron-oxides", "4.00 %", "none"),
        ("water, q.s.", "66.2", "74.2"),
    ]  # fmt: skip


def test_components_lend_their_blend_the_rules_about_them() -> None:
    oil = a_rule("oil", "amount", functions=("oil",), full=n("8"), unit="points")
    found = asked(with_("9T", paste="8"), rules=[oil]).factors[0]
    assert found.rule == oil
    assert found.size == pytest.approx(0.5)
    assert found.prior == pytest.approx(0.05 + 0.45 * 0.5)


def test_a_rule_about_a_blend_and_about_its_components_counts_once() -> None:
    emulsifiers = blend("emulsifying-wax", "emulsifier", glyceryl_oleate="50", sorbitan_oleate="50")
    rule = a_rule("emulsifier", "amount", "more helps", functions=("emulsifier",), full=n("8"),
                  unit="points")  # fmt: skip
    bad, good = with_("9T"), with_("4N", 0, emulsifying_wax="4")
    sheets = Sheets({**KNOWN.by_file, "emulsifying-wax": emulsifiers})
    book = a_book((bad, False), (good, True), rules=[rule], sheets=sheets)
    found = named(ask(book, bad.id, good.id))["emulsifying-wax"]
    assert found.size == pytest.approx(0.5)


def test_a_component_that_comes_by_two_blends_is_a_difference_of_its_own() -> None:
    bad, good = with_("9T", paste="8"), with_("4N", 0, other_paste="8")
    assert set(named(asked(bad, good=good))) == {
        "paste", "other-paste", "castor-oil", "iron-oxides",
    }  # fmt: skip


def test_what_both_have_by_different_ways_is_no_difference() -> None:
    bad, good = with_("9T", paste="8"), with_("4N", 0, castor_oil="4", iron_oxides="4")
    assert list(named(asked(bad, good=good))) == ["paste"]


def test_a_component_that_another_batch_has_without_the_blend_is_the_factor() -> None:
    bad = with_("9T", paste="8")
    plain = with_("6R", 5, castor_oil="4")
    found = asked(bad, plain)
    assert set(named(found)) == {"paste", "castor-oil, in paste too"}
    assert sides(found, "castor-oil, in paste too") == {"9T": True, "4M": False, "6R": True}
    assert sides(found, "paste") == {"9T": True, "4M": False, "6R": False}
    left = named(found)["paste"].folded
    assert [item.what for item in left] == ["iron-oxides", "water, q.s."]
    both = asked(bad, plain, with_("7S", 6, iron_oxides="4"))
    assert set(named(both)) == {"castor-oil, in paste too", "iron-oxides, in paste too"}


def test_the_next_batch_has_such_a_component_by_itself() -> None:
    def content(*lines: Line) -> Formula:
        water = Phase(phase="B", lines=(Line(ingredient="water", percent=Qs.QS),))
        return replace(FORMULA, phases=(Phase(phase="A", lines=lines), water))

    oil = Line(ingredient="sunflower-oil", percent=Decimal(20))
    good = content(oil)
    failed = content(oil, Line(ingredient="paste", percent=Decimal(8)))
    found = asked(with_("9T", paste="8"), with_("6R", 5, castor_oil="4"))
    made = trial_of(good, failed, [named(found)["castor-oil, in paste too"]], KNOWN)
    assert not made.cannot
    assert [(line.ingredient, line.percent) for line in made.content.phases[0].lines] == [
        ("sunflower-oil", Decimal(20)), ("castor-oil", Decimal(4)),
    ]  # fmt: skip


# What nobody knows -------------------------------------------------------------------------------


def test_what_a_sheet_leaves_open_is_undecided_and_never_none() -> None:
    bad = with_("9T", castor_oil="4")
    found = named(asked(bad, with_("1A", 2, open_paste="8"), with_("2B", 3, unsaid_paste="8"),
                        with_("3C", 4, unsaid_paste="0.1"), with_("5D", 5, open_paste="0.1"),
                        with_("6E", 6, castor_oil="4", open_paste="8")))  # fmt: skip
    by_unit = {unit[-2:]: side for unit, side in found["castor-oil"].sides.items()}
    assert {unit: (side.side, side.why) for unit, side in by_unit.items()} == {
        "9T": (True, ""), "4M": (False, ""), "1A": (None, "unrecorded"),
        "2B": (None, "unrecorded"), "3C": (None, "unrecorded"), "5D": (False, ""),
        "6E": (True, ""),
    }  # fmt: skip
    assert by_unit["2B"].text == "some in unsaid-paste"


def test_what_is_open_in_all_batches_alike_makes_no_difference() -> None:
    bad = with_("9T", castor_oil="4", unsaid_paste="4")
    good = with_("4N", 0, castor_oil="2", unsaid_paste="4")
    found = asked(bad, with_("1A", 2, castor_oil="2", unsaid_paste="4"), good=good)
    assert sides(found, "castor-oil") == {"9T": True, "4N": False, "1A": False}


def test_of_the_pair_what_one_of_them_leaves_open_is_not_recorded() -> None:
    bad, good = with_("9T", castor_oil="4"), with_("4N", 0, unsaid_paste="8")
    found = asked(bad, good=good)
    assert list(named(found)) == ["unsaid-paste"]
    assert [(u.what, u.missing, u.line) for u in found.unrecorded] == [
        ("how much castor-oil is in unsaid-paste", good.id, "labbook edit unsaid-paste")
    ]


def test_a_formula_is_asked_about_what_its_batches_have_by_any_way() -> None:
    bad = [with_("9T", 1, paste="8"), with_("9U", 2, castor_oil="4")]
    fine = [GOOD, with_("6R", 3, iron_oxides="4"), with_("7S", 4, open_paste="8")]
    book = a_book(*((b, False) for b in bad), *((b, True) for b in fine), sheets=KNOWN)
    oil = [f for f in ask_formula(book, "HC").factors if f.what == "castor-oil" and f.more]
    assert len(oil) == 1
    assert {unit[-2:]: side.side for unit, side in oil[0].sides.items()} == {
        "9T": True, "9U": True, "4M": False, "6R": False, "7S": None,
    }  # fmt: skip


def test_a_hydrate_and_the_water_in_a_blend_stay_as_they_are_written() -> None:
    acid = blend("acid-solution", "pH adjuster", citric_acid="20", water="80")
    sheets = Sheets({**KNOWN.by_file, "acid-solution": acid})
    bad = with_("9T", acid_solution="5")
    book = a_book((bad, False), (GOOD, True), sheets=sheets)
    found = ask(book, bad.id, GOOD.id)
    assert [item.what for item in found.factors[0].folded] == ["citric-acid", "water, q.s."]
    assert found.follows[0].a == "69.2"  # the line's own percent, without the solution's water
