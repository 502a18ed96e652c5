"""On which side of a difference each batch stands."""

from dataclasses import replace
from typing import Any

import pytest

from labbook.evidence.factors import Question, ask
from labbook.model.batch import BatchStep, Done, Weighing
from labbook.model.formula import Step
from labbook.model.quantities import parse_quantity as q
from labbook.model.rules import CauseRule
from tests.evidence.factors.notebooks import (
    BAD,
    GOOD,
    a_batch,
    a_book,
    a_rule,
    looked,
    named,
    sides,
    split_from,
    standing,
)


def asked(
    *others: Any, rules: tuple[CauseRule, ...] = (), bad: Any = None, good: Any = None
) -> Question:
    """The question of a pair that differs in its salt (0.4 against 0.8 %), others beside it."""
    bad = bad or a_batch("9T", lines={"salt": "0.4"})
    good = good or a_batch("4M")
    book = a_book((bad, False), (good, True), *((one, True) for one in others), rules=rules)
    return ask(book, bad.id, good.id)


def with_salt(value: str | None) -> Any:
    return a_batch("3X", 3, lines={"salt": value})


FULL = a_batch("8T", 8, lines={"salt": "0.4"})
HELPS = a_rule("salt", "amount", "more helps", functions=("electrolyte",))


@pytest.mark.parametrize(
    ("salt", "side", "why"),
    [
        ("0.4", True, ""), ("0.2", True, ""), (None, True, ""),
        ("0.41", True, ""),  # within twice what two readings of 0.01 g can tell
        ("0.42", None, "between"),
        ("0.5", None, "between"), ("0.7", None, "between"),
        ("0.8", False, ""), ("1.6", False, ""),
    ],
)  # fmt: skip
def test_where_more_helps_everything_beyond_counts(salt: str | None, side: Any, why: str) -> None:
    found = asked(with_salt(salt), rules=(HELPS,))
    mine = named(found)["salt"].sides[with_salt(salt).id]
    assert (mine.side, mine.why) == (side, why)


def test_a_batch_that_was_meant_alike_is_alike_however_it_was_weighed() -> None:
    loose = a_batch("3X", 3, lines={"salt": "0.4"}, weighed={"salt": "0.45"})
    assert sides(asked(loose, rules=(HELPS,)), "salt")["3X"] is True
    other = a_batch("3X", 3, lines={"salt": "0.45"})
    assert sides(asked(other, rules=(HELPS,)), "salt")["3X"] is None


@pytest.mark.parametrize("rules", [(), (replace(HELPS, direction="optimum"),),
                                   (replace(HELPS, direction="depends"),)])  # fmt: skip
@pytest.mark.parametrize(
    ("salt", "side", "why"),
    [
        ("0.4", True, ""), ("0.5", True, ""), ("0.3", True, ""),
        ("0.6", None, "between"), ("0.28", None, "other"), (None, None, "other"),
        ("0.7", False, ""), ("0.9", False, ""), ("1.6", None, "other"),
    ],
)  # fmt: skip
def test_without_such_a_rule_only_what_is_nearly_equal_counts(
    rules: tuple[CauseRule, ...], salt: str | None, side: Any, why: str
) -> None:
    found = asked(with_salt(salt), rules=rules)
    mine = named(found)["salt"].sides[with_salt(salt).id]
    assert (mine.side, mine.why) == (side, why)


def test_a_rule_that_speaks_against_the_difference_gives_no_direction() -> None:
    hurts = replace(HELPS, direction="more hurts")
    found = asked(with_salt("1.6"), rules=(hurts,))
    assert named(found)["salt"].rule is None
    assert sides(found, "salt")["3X"] is None


def test_names_are_equal_or_nothing() -> None:
    bad, good = a_batch("9T", mixer="no-name"), a_batch("4M")
    same, third = a_batch("5S", mixer="no-name"), a_batch("6Q", mixer="whisk")
    none = a_batch("7N", mixer=None)
    found = asked(same, third, none, bad=bad, good=good)
    assert sides(found, "mixer") == {"9T": True, "4M": False, "5S": True, "6Q": None, "7N": None}
    by_unit = {unit[-2:]: side for unit, side in named(found)["mixer"].sides.items()}
    assert (by_unit["6Q"].why, by_unit["6Q"].text) == ("other", "whisk (by hand)")
    assert (by_unit["7N"].why, by_unit["7N"].text) == ("unrecorded", "not written down")


def test_a_class_of_shear_counts_whatever_the_device() -> None:
    bad = a_batch("9T", mixer="whisk")
    found = asked(a_batch("5S", mixer="other-blender"), bad=bad)
    assert sides(found, "mixer") == {"9T": True, "4M": False, "5S": False}


def test_a_step_that_a_batch_does_not_have_is_no_missing_record() -> None:
    bad = a_batch("9T", b="50 °C")
    other = a_batch("5S", steps=(BatchStep(id="s1", plan=Step(id="s1", do="mix"), done=Done()),))
    found = asked(other, bad=bad)
    side = named(found)["water phase when combined"].sides[other.id]
    assert (side.side, side.why, side.text) == (None, "other", "no such step")


def test_steps_are_the_same_by_what_they_say_where_their_ids_differ() -> None:
    bad = a_batch("9T", b="50 °C")
    renamed = a_batch("5S", b="51 °C")
    step = renamed.steps[0]
    assert step.plan is not None
    plan = replace(step.plan, id="s7")
    other = replace(renamed, steps=(replace(step, id="s7", plan=plan),))
    assert sides(asked(other, bad=bad), "water phase when combined")["5S"] is True


def test_a_gap_rule_counts_beyond_the_failed_batch_only() -> None:
    gap = a_rule("gap", "gap", "more hurts", step="combine", full=q("10 °C").value, unit="°C")
    bad = a_batch("9T", b="58 °C")
    others = [a_batch(n, b=b) for n, b in (("1A", "50 °C"), ("2B", "65 °C"), ("3C", "74 °C"),
                                           ("4D", "85 °C"))]  # fmt: skip
    found = asked(*others, bad=bad, rules=(gap,))
    factor = named(found)["water phase when combined"]
    assert (factor.rule, factor.size, factor.prior) == (gap, 1.0, 0.5)
    assert sides(found, "water phase when combined") == {
        "9T": True, "4M": False, "1A": True, "2B": None, "3C": False, "4D": None,
    }  # fmt: skip


# Sisters -----------------------------------------------------------------------------------------


def test_parts_of_one_bulk_that_are_alike_count_once() -> None:
    bulk = a_batch("2P", 3)
    parts = [split_from(bulk, short) for short in ("5A", "5B")]
    found = asked(bulk, *parts)
    assert [row.unit[-2:] for row in found.rows] == ["4M", "9T", "2P"]
    assert {unit[-2:]: why for unit, why in found.left_out} == {
        "5A": "counts as one with HC-260108-2P", "5B": "counts as one with HC-260108-2P",
    }  # fmt: skip


def test_one_failed_part_of_a_bulk_is_a_failed_bulk() -> None:
    bulk = a_batch("2P", 3)
    parts = [split_from(bulk, short) for short in ("5A", "5B")]
    bad, good = a_batch("9T", lines={"salt": "0.4"}), a_batch("4M")
    book = a_book((bad, False), (good, True), (bulk, None), (parts[0], True), (parts[1], False))
    found = ask(book, bad.id, good.id)
    states = {row.unit[-2:]: row.state for row in found.rows}
    assert states == {"9T": "failed", "4M": "intact", "5B": "failed"}
    assert [unit[-2:] for unit, _ in found.left_out] == ["5A"]  # and not the bulk itself


def test_sisters_are_compared_for_what_split_them_and_share_the_rest_once() -> None:
    bulk = a_batch("2P", 3, b="50 °C")
    salted = split_from(bulk, "5A")
    more = replace(bulk.weighings[3], id="w9", mass=q("0.5 g"))
    with_more = replace(split_from(bulk, "5B"), weighings=(more,))
    book = a_book((salted, True), (with_more, False), (bulk, None))
    own = ask(book, with_more.id, salted.id)
    assert [f.what for f in own.factors] == ["salt"]
    bad, good = a_batch("9T", lines={"salt": "1.8"}, b="50 °C"), a_batch("4M")
    wide = a_book((salted, True), (with_more, False), (bulk, None), (bad, False), (good, True))
    found = ask(wide, bad.id, good.id)
    cold = sides(found, "water phase when combined")
    assert cold == {"9T": True, "4M": False, "5B": True}
    assert sides(found, "salt") == {"9T": True, "4M": False, "5B": True}
    assert dict(found.left_out)[salted.id] == (
        f"held, but counts as one with {with_more.id}, which failed"
    )


def test_a_part_has_what_its_bulk_was_made_of() -> None:
    bulk = a_batch("2P", 3, lines={"salt": "0.4"}, b="50 °C")
    part = split_from(bulk, "5A")
    bad = a_batch("9T", lines={"salt": "0.4"}, b="50 °C")
    good = a_batch("4M")
    book = a_book((bad, False), (good, True), (bulk, None), (part, True))
    found = ask(book, bad.id, good.id)
    assert sides(found, "salt")["5A"] is True
    assert sides(found, "water phase when combined")["5A"] is True


def test_a_part_thinned_by_what_was_weighed_into_it_is_alike() -> None:
    bulk = a_batch("2P", 3, lines={"salt": "0.4"})
    drop = Weighing(id="w9", ingredient="lavender-oil", phase="C", mass=q("0.5 g"))
    thinned = replace(split_from(bulk, "5A"), weighings=(drop,))
    book = a_book((a_batch("4M"), True), (thinned, False), (bulk, None), (FULL, False),
                  rules=(HELPS,))  # fmt: skip
    for bad, other in ((thinned, FULL), (FULL, thinned)):
        found = named(ask(book, bad.id, a_batch("4M").id))["salt"]
        assert found.sides[other.id].side is True  # 0.396 or 0.4 %


# Jars --------------------------------------------------------------------------------------------


def test_jars_are_units_where_jars_differ_and_only_for_that() -> None:
    bad, good = a_batch("9T", lines={"salt": "0.4"}), a_batch("4M")
    third = a_batch("6R", 3, lines={"salt": "0.4"})
    tin, glass = {"container": "tin"}, {"container": "glass"}
    jars = {b.id: standing(b, *own) for b, own in
            ((bad, (tin,)), (good, (glass,)), (third, (tin, glass)))}  # fmt: skip
    both = looked(third, *BAD).looks
    held = tuple(
        replace(o, id=f"g{o.id}") for o in looked(third, *GOOD, jar="2").looks
    )  # fmt: skip
    looks = {
        bad.id: looked(bad, *BAD),
        good.id: looked(good, *GOOD),
        third.id: replace(looked(third), looks=(*both, *held)),
    }
    book = a_book((bad, None), (good, None), (third, None), jars=jars, stability=looks)
    found = ask(book, bad.id, good.id)
    assert [f.kind for f in found.factors] == ["amount", "container"]
    assert sides(found, "salt") == {"9T": True, "4M": False, "6R": True, "6R.2": None}
    assert named(found)["salt"].sides[f"{third.id}.2"].why == "shared"
    assert sides(found, "container") == {"9T": True, "4M": False, "6R": True, "6R.2": False}
    assert {r.unit.split("-")[-1]: r.state for r in found.rows if r.batch == third.id} == {
        "6R": "failed", "6R.2": "intact",
    }  # fmt: skip


def test_one_batch_in_two_places_is_a_pair_of_its_own() -> None:
    bad, good = a_batch("9T", 30, lines={"salt": "0.4"}), a_batch("4M")
    places = ({"place": "window"}, {"place": "cellar"})
    held = tuple(replace(o, id=f"g{o.id}") for o in looked(bad, *GOOD, jar="2").looks)
    looks = {
        bad.id: replace(looked(bad), looks=(*looked(bad, *BAD).looks, *held)),
        good.id: looked(good, *GOOD),
    }
    jars = {bad.id: standing(bad, *places), good.id: standing(good, {"place": "shelf"})}
    book = a_book((bad, None), (good, None), jars=jars, stability=looks)
    found = ask(book, bad.id)
    assert (found.failed, found.good) == (bad.id, f"{bad.id}.2")
    assert [(f.kind, f.failed, f.good) for f in found.factors] == [("place", "window", "cellar")]
    assert sides(found, "place in the room") == {"9T": True, "9T.2": False, "4M": None}
    named_jars = ask(book, f"{bad.id}.2", f"{bad.id}.1")
    assert (named_jars.failed, named_jars.good) == (f"{bad.id}.1", f"{bad.id}.2")


def test_a_jar_can_be_the_good_one_though_another_jar_of_its_batch_failed() -> None:
    bad, good = a_batch("9T", 1, lines={"salt": "0.4"}), a_batch("4M")
    held = tuple(replace(o, id=f"g{o.id}") for o in looked(good, *GOOD, jar="2").looks)
    looks = {
        bad.id: looked(bad, *BAD),
        good.id: replace(looked(good), looks=(*looked(good, (1, 0), (7, 3)).looks, *held)),
    }
    jars = {bad.id: standing(bad), good.id: standing(good, {}, {})}
    book = a_book((bad, None), (good, None), jars=jars, stability=looks)
    found = ask(book, bad.id, f"{good.id}.2")
    assert [(r.unit.split("-")[-1], r.state) for r in found.rows] == [
        ("4M.2", "intact"), ("9T", "failed"),
    ]  # fmt: skip
    assert sides(found, "salt") == {"4M.2": False, "9T": True}


def test_the_table_holds_the_decided_rows_for_the_reckoning() -> None:
    found = asked(a_batch("3X", 3, lines={"salt": "0.6"}))
    assert [(name[-2:], failed, own) for name, failed, own in found.table] == [
        ("4M", False, (False,)), ("9T", True, (True,)), ("3X", False, (None,)),
    ]  # fmt: skip
