"""What is a factor, what follows from one, and what one batch alone has written down."""

from dataclasses import replace
from typing import Any

import pytest

from labbook.evidence.factors import ask
from labbook.model.batch import Batch, BatchStep, Deviation, Done, Room, Tools
from labbook.model.formula import Step
from labbook.model.materials import Lot
from labbook.model.quantities import parse_quantity as q
from tests.evidence.factors.notebooks import (
    a_batch,
    a_book,
    a_lot,
    a_rule,
    named,
    pH,
    sides,
)

GOOD = a_batch("4M")


def factors(bad: Batch, good: Batch = GOOD, *rules: Any, **more: Any) -> list[tuple[str, str]]:
    """Kind and name of the factors of a pair."""
    book = a_book((bad, False), (good, True), rules=rules, **more)
    return [(f.kind, f.what) for f in ask(book, bad.id, good.id).factors]


def test_a_line_weighed_otherwise_is_a_factor_and_what_it_shifts_is_not() -> None:
    bad = a_batch("9T", weighed={"salt": "0.40"})
    assert factors(bad) == [("amount", "salt")]


def test_water_that_was_weighed_short_is_an_act_of_its_own() -> None:
    bad = a_batch("9T", weighed={"water": "60.0"})
    assert factors(bad) == [("amount", "water")]
    also = a_batch("9T", weighed={"water": "60.0"}, lines={"salt": "0.4"})
    assert factors(also) == [("amount", "water"), ("amount", "salt")]


def test_amounts_are_those_weighed_with_corrections() -> None:
    from labbook.model.batch import Correction

    slip = a_batch("9T", weighed={"salt": "8.00"})
    fixed = replace(
        slip,
        corrections=(
            Correction(id="c1", of="w3", key="mass", now="0.80 g", why="slip", time=slip.made),
        ),
    )
    assert factors(slip) == [("amount", "salt")]
    assert factors(fixed) == []


@pytest.mark.parametrize(
    ("salt", "expected"),
    [
        ("0.85", []),  # 0.05 point
        ("0.90", []),  # 0.1 point is not beyond 0.1 point
        ("0.92", [("amount", "salt")]),
        ("none", [("amount", "salt")]),
    ],
)
def test_an_amount_matters_beyond_a_tenth_of_a_point(salt: str, expected: list[Any]) -> None:
    bad = a_batch("9T", lines={"salt": None if salt == "none" else salt})
    assert factors(bad) == expected


def test_an_amount_matters_beyond_five_percent_of_its_own() -> None:
    assert factors(a_batch("9T", lines={"sunflower-oil": "20.9"})) == []
    assert factors(a_batch("9T", lines={"sunflower-oil": "21.2"})) == [("amount", "sunflower-oil")]


def test_an_ingredient_that_comes_in_matters_however_little_it_is() -> None:
    bad = a_batch("9T", lines={"lavender-oil": ("C", "0.05")})
    assert factors(bad) == [("amount", "lavender-oil")]


def test_a_rule_says_from_when_on_an_amount_matters() -> None:
    bad = a_batch("9T", lines={"salt": "0.74"})
    assert factors(bad) == []
    fine = a_rule("salt", "amount", "more helps", functions=("electrolyte",),
                  matters_from=q("0.05 g").value, unit="points")  # fmt: skip
    assert factors(bad, GOOD, fine) == [("amount", "salt")]


def test_what_is_within_the_balance_is_no_difference_even_where_a_rule_is_finer() -> None:
    bad = a_batch("9T", weighed={"salt": "0.81"})
    finest = a_rule("salt", "amount", functions=("electrolyte",),
                    matters_from=q("0.001 g").value, unit="points")  # fmt: skip
    assert factors(bad, GOOD, finest) == []


def test_water_that_takes_the_rest_up_is_folded_into_each_act() -> None:
    bad = a_batch("9T", lines={"glyceryl-oleate": "3.6", "salt": "0.4"})
    found = ask(a_book((bad, False), (GOOD, True)))
    assert list(named(found)) == ["glyceryl-oleate", "salt"]
    assert all([i.what for i in f.folded] == ["water, q.s."] for f in found.factors)
    assert [(i.what, i.a, i.b, i.word) for i in found.follows] == [
        ("water, q.s.", "75.5", "74.2", "follows")
    ]


def test_lines_that_kept_their_ratio_are_folded_too() -> None:
    """1000 g of the good batch with 250 g of butter more: all others shrink alike."""
    lines = {name: ("A", p) for name, p in {
        "glyceryl-oleate": "5.00", "sunflower-oil": "25.00", "water": "69.20", "salt": "0.80",
        "sodium-benzoate": "0.00",
    }.items()}  # fmt: skip
    more = {name: ("A", p) for name, p in {
        "glyceryl-oleate": "4.00", "sunflower-oil": "20.00", "water": "55.36", "salt": "0.64",
        "sodium-benzoate": "0.00", "shea-butter": "20.00",
    }.items()}  # fmt: skip
    no_qs = [
        replace(one, lines=tuple(replace(line, qs=None) for line in one.lines))
        for one in (a_batch("4M", lines=lines), a_batch("9T", lines=more))
    ]
    found = ask(a_book((no_qs[1], False), (no_qs[0], True)))
    assert list(named(found)) == ["shea-butter"]
    assert {item.what for item in found.follows} == {
        "glyceryl-oleate", "sunflower-oil", "water", "salt",
    }  # fmt: skip


def test_a_substitution_is_one_factor_of_two_names() -> None:
    bad = a_batch("9T", lines={"glyceryl-oleate": None, "sorbitan-oleate": ("A", "4.5")})
    third = a_batch("5B", 2, lines={"sorbitan-oleate": ("A", "4.5")})
    found = ask(a_book((bad, False), (GOOD, True), (third, True)), bad.id, GOOD.id)
    assert [(f.kind, f.failed, f.good) for f in found.factors] == [
        ("substitution", "sorbitan-oleate 4.5 %", "glyceryl-oleate 4.5 %")
    ]
    assert sides(found, "emulsifier in phase A") == {"9T": True, "4M": False, "5B": None}


def test_phase_of_entry() -> None:
    bad = a_batch("9T", lines={"sodium-benzoate": ("A", "0.5")})
    assert factors(bad) == [("phase of entry", "sodium-benzoate")]


@pytest.mark.parametrize(
    ("change", "expected"),
    [
        ({"b": "67 °C"}, []),
        ({"b": "66 °C"}, []),
        ({"b": "65 °C"}, [("temperature", "water phase when combined")]),
        ({"b": "149 °F"}, [("temperature", "water phase when combined")]),  # 65 °C
        ({"done": {"took": q("4.5 min")}}, []),
        ({"done": {"took": q("5 min")}}, [("time", "combine: time taken")]),
        ({"done": {"took": q("300 s")}}, [("time", "combine: time taken")]),
        ({"done": {"speed": "13000 rpm"}}, []),
        ({"done": {"speed": "14000 rpm"}}, [("speed", "combine: speed")]),
        ({"done": {"rate": "poured"}}, [("rate", "combine: rate")]),
        ({"mixer": "other-blender"}, []),  # another one of the same class
        ({"mixer": "whisk"}, [("shear", "mixer")]),
        ({"mixer": "no-name"}, [("device", "mixer")]),
        ({"size": q("140 g")}, []),
        ({"size": q("160 g")}, [("size", "batch size")]),
    ],
)
def test_how_it_was_made(change: dict[str, Any], expected: list[Any]) -> None:
    bad = a_batch("9T", **change)
    if "size" in change:
        bad = replace(bad, weighings=())
        assert factors(bad, replace(GOOD, weighings=())) == expected
        return
    assert factors(bad) == expected


def test_a_time_and_a_rate_in_words_of_one_step_are_one() -> None:
    bad = a_batch("9T", done={"rate": "poured at once", "took": q("1 min")})
    found = ask(a_book((bad, False), (GOOD, True)))
    assert [(f.what, [i.what for i in f.folded]) for f in found.factors] == [
        ("combine: rate", ["combine: time taken"])
    ]


def test_the_mixer_and_the_steps_done_with_it_are_one() -> None:
    bad = a_batch("9T", mixer="whisk", done={"with_": "whisk", "speed": "fast"})
    good = a_batch("4M", done={"with_": "blender", "speed": "2"})
    found = ask(a_book((bad, False), (good, True)))
    assert [(f.kind, f.what) for f in found.factors] == [("shear", "mixer")]
    assert [i.what for i in found.factors[0].folded] == ["combine: with", "combine: speed"]


def test_the_ph_is_that_of_the_water_phase() -> None:
    good = a_batch("4M", readings=pH("4.9"))
    assert factors(a_batch("9T", readings=pH("5.0")), good) == []
    assert factors(a_batch("9T", readings=pH("5.4")), good) == [("pH", "pH of water phase")]
    finished = [
        a_batch(n, readings=pH(v, "finished cream")) for n, v in (("9T", "7.4"), ("4M", "5"))
    ]
    assert factors(finished[0], finished[1]) == []


def test_the_meter_matters_by_its_kind() -> None:
    tools = Tools(balance="bench", mixer="blender", meter="meter")
    strips = replace(tools, meter="strips")
    good = a_batch("4M", tools=tools)
    assert factors(a_batch("9T", tools=strips), good) == [("device", "meter")]


def test_the_room() -> None:
    good = a_batch("4M", room=Room(temperature=q("19 °C"), humidity=q("48 %")))
    near = a_batch("9T", room=Room(temperature=q("22 °C"), humidity=q("45 %")))
    far = a_batch("9T", room=Room(temperature=q("29 °C"), humidity=q("70 %")))
    assert factors(near, good) == []
    assert factors(far, good) == [("room", "room temperature"), ("room", "room humidity")]


def test_a_step_that_was_left_out_and_an_order_turned_round() -> None:
    combine = GOOD.steps[0]
    rest = BatchStep(id="s2", plan=Step(id="s2", do="rest"), done=Done(took=q("20 min")))
    cool = BatchStep(id="s3", plan=Step(id="s3", do="cool"), done=Done(took=q("20 min")))
    good = replace(GOOD, steps=(combine, rest, cool))
    assert factors(a_batch("9T", steps=(combine, cool)), good) == [("skipped", "rest")]
    skipped = replace(rest, done=Done(skipped="no time"))
    assert factors(a_batch("9T", steps=(combine, skipped, cool)), good) == [("skipped", "rest")]
    turned = a_batch("9T", steps=(combine, cool, rest))
    assert factors(turned, good) == [("order", "order of the steps")]
    assert BatchStep(id="s1", plan=combine.plan) != combine


def test_which_into_which() -> None:
    plan = Step(id="s1", do="combine", add="A", into="B")
    bad = a_batch("9T", steps=(replace(GOOD.steps[0], plan=plan),))
    assert factors(bad) == [("order", "combine: which into which")]


def test_packs_bought_on_one_day_are_one_until_a_batch_tells_them_apart() -> None:
    old = {"sunflower-oil": "o1", "salt": "s1", "glyceryl-oleate": "g1"}
    new = {"sunflower-oil": "o2", "salt": "s2", "glyceryl-oleate": "g2"}
    bought = {"o2": 20, "s2": 20, "g2": 25}
    lots: dict[str, Lot] = {}
    for sheet, name in (*old.items(), *new.items()):
        day = bought.get(name, 1)
        lots |= a_lot(name, sheet, bought=GOOD.made.replace(day=day))
    good, bad = a_batch("4M", lots=old), a_batch("9T", 30, lots=new)
    one = ask(a_book((bad, False), (good, True), lots=lots))
    assert [f.what for f in one.factors] == [
        "lot of glyceryl-oleate", "lot of salt and lot of sunflower-oil",
    ]  # fmt: skip
    mixed = a_batch("6R", 31, lots={**old, "salt": "s2"})
    told = ask(a_book((bad, False), (good, True), (mixed, True), lots=lots), bad.id, good.id)
    assert [f.what for f in told.factors] == [
        "lot of glyceryl-oleate", "lot of salt", "lot of sunflower-oil",
    ]  # fmt: skip
    assert sides(told, "lot of salt")["6R"] is True
    assert sides(told, "lot of sunflower-oil")["6R"] is False


def test_packs_without_a_date_are_one_by_the_session_that_they_first_served() -> None:
    good = a_batch("4M", lots={"salt": "s1", "sunflower-oil": "o1"})
    bad = a_batch("9T", 30, lots={"salt": "s2", "sunflower-oil": "o2"})
    assert factors(bad, good) == [("lot", "lot of salt and lot of sunflower-oil")]


def test_a_grade_holds_its_lot_until_another_lot_of_it_is_seen() -> None:
    lots = {
        **a_lot("o1", "sunflower-oil", grade="virgin", supplier="A"),
        **a_lot("o2", "sunflower-oil", grade="refined", supplier="A"),
        **a_lot("o3", "sunflower-oil", grade="refined", supplier="A"),
    }
    good = a_batch("4M", lots={"sunflower-oil": "o1"})
    bad = a_batch("9T", 30, lots={"sunflower-oil": "o2"})
    book = a_book((bad, False), (good, True), lots=lots)
    found = ask(book)
    assert [(f.kind, f.failed, [i.what for i in f.folded]) for f in found.factors] == [
        ("grade", "refined", ["lot of sunflower-oil"])
    ]
    third = a_batch("6R", 40, lots={"sunflower-oil": "o3"})
    told = ask(a_book((bad, False), (good, True), (third, True), lots=lots), bad.id, good.id)
    assert [f.kind for f in told.factors] == ["grade", "lot"]
    assert sides(told, "grade of sunflower-oil")["6R"] is True
    assert sides(told, "lot of sunflower-oil")["6R"] is None


def test_a_deviation_counts_where_nothing_of_its_step_differs() -> None:
    late = Deviation(id="d1", text="Left standing for an hour.", step="s1")
    assert factors(a_batch("9T", deviations=(late,))) == [("other", "deviation")]
    cold = a_batch("9T", deviations=(late,), b="50 °C")
    assert factors(cold) == [("temperature", "water phase when combined")]


def test_a_gap_between_phases_goes_with_the_temperature_that_opened_it() -> None:
    found = ask(a_book((a_batch("9T", b="50 °C"), False), (GOOD, True)))
    assert [f.kind for f in found.factors] == ["temperature"]
    both = a_batch("9T", a="75 °C", b="67 °C")
    near = a_batch("4M", a="71 °C", b="71 °C")
    assert factors(both, near) == [("gap", "gap between the phases when combined")]


def test_what_one_batch_alone_has_written_down_is_no_factor() -> None:
    bad = a_batch("9T", a=None, b=None, done={"speed": None}, lines={"salt": "0.4"})
    found = ask(a_book((bad, False), (GOOD, True)))
    assert list(named(found)) == ["salt"]
    assert {(u.what, u.failed, u.good, u.missing) for u in found.unrecorded} == {
        ("phase A when combined", None, "72 °C", bad.id),
        ("water phase when combined", None, "71 °C", bad.id),
        ("combine: speed", None, "9000 rpm", bad.id),
    }
    assert {u.line for u in found.unrecorded} == {
        'labbook note 9t "A ... °C" --step s1',
        'labbook note 9t "B ... °C" --step s1',
        'labbook note 9t "combine ... rpm"',
    }


def test_the_line_to_type_names_the_blender_where_one_was_meant() -> None:
    plan = Step(id="s1", do="combine", add="B", into="A", with_="stick-blender")
    steps = [replace(b.steps[0], plan=plan) for b in (a_batch("9T", done={"speed": None}), GOOD)]
    bad, good = a_batch("9T", steps=(steps[0],), b="50 °C"), a_batch("4M", steps=(steps[1],))
    found = ask(a_book((bad, False), (good, True)))
    assert [u.line for u in found.unrecorded] == ['labbook note 9t "blender ... rpm"']


def test_lots_and_weights_that_one_batch_lacks() -> None:
    good = a_batch("4M", lots={"salt": "s1"})
    found = ask(a_book((a_batch("9T"), False), (good, True)))
    assert [u.line for u in found.unrecorded] == ['labbook batch correct 9t w3.lot=... -m "..."']
    unweighed = a_batch("9T", weighed=False, lines={"salt": "0.4"})
    found = ask(a_book((unweighed, False), (GOOD, True)))
    assert list(named(found)) == ["salt"]
    assert [(u.what, u.line) for u in found.unrecorded] == [
        ("weights of the ingredients", 'labbook batch correct 9t glyceryl-oleate=... -m "..."')
    ]
    still_open = replace(unweighed, state="open", closed=None)
    found = ask(a_book((still_open, False), (GOOD, True)))
    assert [u.line for u in found.unrecorded] == ["labbook weigh 9t"]


def test_plans_are_compared_where_nobody_wrote_what_was_done() -> None:
    plans = [Step(id="s1", do="combine", add="B", into="A", over=q(t)) for t in ("1 min", "6 min")]
    bad, good = (
        a_batch(short, steps=(BatchStep(id="s1", plan=plan),))
        for short, plan in zip(("9T", "4M"), plans, strict=True)
    )
    assert factors(bad, good) == [("time", "combine: time taken")]
    real = replace(good, steps=(BatchStep(id="s1", plan=plans[1], done=Done(took=q("6 min"))),))
    assert factors(bad, real) == []


def test_a_rework_and_another_type_of_emulsion() -> None:
    from labbook.model.batch import Parent
    from tests.evidence.factors.notebooks import FORMULA

    again = replace(a_batch("9T"), from_=(Parent(batch=GOOD.id, how="rework"),))
    assert factors(again) == [("other", "made from")]
    bad = a_batch("9T")
    contents = {bad.id: replace(FORMULA, emulsion="oil-in-water"), GOOD.id: FORMULA}
    assert factors(bad, contents=contents) == [("other", "type of emulsion that was meant")]


def test_what_got_lost_while_making() -> None:
    good, bad = a_batch("4M", yield_=q("97 g")), a_batch("9T", yield_=q("86 g"))
    assert factors(bad, good) == [("evaporation", "lost while making")]
    assert factors(a_batch("9T", yield_=q("94 g")), good) == []
