"""Which rule speaks for a difference, and what chance that gives; the rules are invented."""

from dataclasses import replace
from math import log
from typing import Any

import pytest

from labbook.evidence.factors import Factor, ask
from labbook.model.batch import Reading, Room
from labbook.model.quantities import parse_number as n
from labbook.model.quantities import parse_quantity as q
from labbook.model.rules import CauseRule, Selector
from tests.evidence.factors.notebooks import FORMULA, a_batch, a_book, a_lot, a_rule, named

SALT = a_rule("salt", "amount", "more helps", functions=("electrolyte",), full=n("0.8"),
              unit="points")  # fmt: skip


def factor(bad: Any, *rules: CauseRule, what: str = "", **more: Any) -> Factor:
    """The one factor of a pair, or the one of a name."""
    book = a_book((bad, False), (a_batch("4M"), True), rules=rules, **more)
    found = ask(book, bad.id)
    return named(found)[what] if what else found.factors[0]


LESS = a_batch("9T", lines={"salt": "0.4"})


@pytest.mark.parametrize(
    ("strength", "prior"), [("known", 0.5), ("plausible", 0.25), ("weak", 0.1), ("disputed", 0.1)]
)
def test_the_strength_of_a_rule_is_the_chance_of_a_full_difference(
    strength: str, prior: float
) -> None:
    full = replace(SALT, strength=strength, full=n("0.4"))
    assert factor(LESS, full).prior == pytest.approx(prior)


def test_a_smaller_difference_counts_in_proportion() -> None:
    found = factor(LESS, SALT)
    assert found.rule == SALT
    assert found.size == pytest.approx(0.5)
    assert found.prior == pytest.approx(0.05 + 0.45 * 0.5)
    assert found.prior_without == 0.05


def test_a_larger_difference_counts_no_more_than_fully() -> None:
    assert factor(LESS, replace(SALT, full=n("0.1"))).prior == pytest.approx(0.5)


@pytest.mark.parametrize(
    "other",
    [
        replace(SALT, direction="more hurts"),
        replace(SALT, severity="off"),
        replace(SALT, groups=("microbial",)),
        replace(SALT, emulsions=("oil-in-water",)),
        replace(SALT, of=Selector(functions=("fragrance",))),
        replace(SALT, with_=Selector(ingredients=("lavender-oil",))),
    ],
)
def test_a_rule_outside_its_scope_says_nothing(other: CauseRule) -> None:
    found = factor(LESS, other)
    assert (found.rule, found.size, found.prior) == (None, 0.0, 0.05)


def test_a_rule_can_ask_for_more_before_a_difference_matters() -> None:
    book = a_book(
        (LESS, False), (a_batch("4M"), True), rules=[replace(SALT, matters_from=n("0.5"))]
    )
    assert ask(book, LESS.id).factors == ()


@pytest.mark.parametrize(
    "other",
    [
        replace(SALT, groups=("separation",)),
        replace(SALT, emulsions=("water-in-oil",)),
        replace(SALT, of=Selector(ingredients=("salt",))),
        replace(SALT, with_=Selector(functions=("emulsifier",))),
        replace(SALT, direction="optimum"),
        replace(SALT, direction="depends"),
    ],
)
def test_a_rule_within_its_scope_speaks(other: CauseRule) -> None:
    assert factor(LESS, other).rule == other


def test_the_type_observed_goes_before_the_type_meant() -> None:
    inverted = replace(
        LESS, readings=(Reading(id="r1", reading="emulsion type", seen="oil-in-water"),)
    )
    assert factor(inverted, replace(SALT, emulsions=("water-in-oil",))).rule is None
    assert factor(inverted, replace(SALT, emulsions=("oil-in-water",))).rule is not None


def test_of_two_rules_the_one_that_counts_more_is_taken() -> None:
    weak = replace(SALT, name="weak", strength="weak")
    assert factor(LESS, weak, SALT).rule == SALT


def test_the_share_of_the_own_amount() -> None:
    half = replace(SALT, full=n("0.5"), unit="share")
    assert factor(LESS, half).size == pytest.approx(1.0)
    assert factor(a_batch("9T", lines={"salt": "0.6"}), half).size == pytest.approx(0.5)


def test_a_ratio_counts_by_its_logarithm() -> None:
    fast = a_rule("mix", "time", "more helps", step="combine", full=n("4"), unit="times")
    found = factor(a_batch("9T", done={"mixed": q("2.5 min")}), fast)
    assert found.size == pytest.approx(log(2) / log(4))


def test_less_time_is_a_faster_rate() -> None:
    rate = a_rule("rate", "rate", "more hurts", step="combine", full=n("3"), unit="times")
    found = factor(a_batch("9T", done={"took": q("1 min")}), rate)
    assert (found.kind, found.rule) == ("time", rate)
    assert found.size == pytest.approx(1.0)
    assert factor(a_batch("9T", done={"took": q("9 min")}), rate).rule is None


def test_rates_in_words_have_a_direction() -> None:
    rate = a_rule("rate", "rate", "more hurts", step="combine")
    assert factor(a_batch("9T", done={"rate": "poured in"}), rate).rule == rate
    assert factor(a_batch("9T", done={"rate": "drop by drop"}), rate).rule is None


def test_more_oil_with_water_to_fill_up_is_less_water_too() -> None:
    water = a_rule("water", "amount", "more helps", functions=("water",), full=n("12"),
                   unit="points")  # fmt: skip
    more_oil = a_batch("9T", lines={"sunflower-oil": "32.0"})
    found = factor(more_oil, water)
    assert (found.what, found.rule) == ("sunflower-oil", water)
    assert found.size == pytest.approx(1.0)
    assert [item.what for item in found.folded] == ["water, q.s."]
    phase = a_rule("phase", "water phase", "more helps", full=n("24"), unit="points")
    assert factor(more_oil, phase).size == pytest.approx(0.5)


def test_two_acts_lend_each_their_own_share_of_what_follows() -> None:
    water = a_rule("water", "amount", "more hurts", functions=("water",), full=n("1"),
                   unit="points")  # fmt: skip
    bad = a_batch("9T", lines={"salt": "0.4", "glyceryl-oleate": "3.9"})
    assert factor(bad, water, what="salt").size == pytest.approx(0.4)
    assert factor(bad, water, what="glyceryl-oleate").size == pytest.approx(0.6)


def test_salt_for_salt_in_the_water_phase_leaves_the_water_phase_as_it_was() -> None:
    phase = a_rule("phase", "water phase", "more hurts", full=n("1"), unit="points")
    assert factor(LESS, phase).rule is None


def test_one_emulsifier_for_another_is_no_loss_of_emulsifier() -> None:
    swap = a_batch("9T", lines={"glyceryl-oleate": None, "sorbitan-oleate": ("A", "4.5")})
    emulsifier = a_rule("emulsifier", "amount", "more helps", functions=("emulsifier",))
    assert factor(swap, emulsifier).rule is None
    less = a_batch("9T", lines={"glyceryl-oleate": None, "sorbitan-oleate": ("A", "2.0")})
    assert factor(less, emulsifier).rule == emulsifier
    came = a_rule(
        "came", "substitution", "more hurts", of=Selector(ingredients=("sorbitan-oleate",))
    )
    assert factor(swap, came).rule == came
    assert factor(swap, replace(came, direction="more helps")).rule is None
    went = replace(came, of=Selector(ingredients=("glyceryl-oleate",)), direction="more helps")
    assert factor(swap, went).rule == went


def test_a_step_left_out() -> None:
    from labbook.model.batch import BatchStep, Done
    from labbook.model.formula import Step

    hold = BatchStep(id="s0", plan=Step(id="s0", do="hold"), done=Done())
    good = a_batch("4M")
    good = replace(good, steps=(hold, *good.steps))
    rule = a_rule("hold", "skipped", "more hurts", step="hold")
    for one, expected in ((rule, rule), (replace(rule, direction="more helps"), None)):
        book = a_book((a_batch("9T"), False), (good, True), rules=[one])
        assert ask(book).factors[0].rule == expected


def test_a_device_by_its_class_of_shear() -> None:
    shear = a_rule("shear", "shear", "more helps", full=n("2"), unit="classes")
    assert factor(a_batch("9T", mixer="whisk"), shear).size == pytest.approx(1.0)
    assert factor(a_batch("9T", mixer="no-name"), shear).rule is None
    device = a_rule("device", "device", "depends")
    assert factor(a_batch("9T", mixer="no-name"), device).rule == device


def test_a_pack_by_its_ingredient() -> None:
    lots = {**a_lot("s1", "salt", grade="pure"), **a_lot("s2", "salt", grade="table")}
    good = a_batch("4M", lots={"salt": "s1"})
    bad = a_batch("9T", lots={"salt": "s2"})
    for kind in ("grade", "lot"):
        rule = a_rule("pack", kind, "depends", of=Selector(ingredients=("salt",)))
        book = a_book((bad, False), (good, True), rules=[rule], lots=lots)
        assert ask(book).factors[0].rule == rule
        other = replace(rule, of=Selector(ingredients=("water",)))
        assert ask(replace(book, rules=a_book(rules=[other]).rules)).factors[0].rule is None


def test_a_temperature_of_a_phase_by_what_is_in_it() -> None:
    hot = a_rule("hot", "temperature", "more helps", step="combine",
                 of=Selector(functions=("water",)), full=n("10"), unit="°C")  # fmt: skip
    found = factor(a_batch("9T", b="61 °C"), hot)
    assert found.rule == hot
    assert found.size == pytest.approx(1.0)
    assert factor(a_batch("9T", a="60 °C"), hot).rule is None


def test_a_rule_about_the_warmth_of_a_room_says_nothing_of_its_humidity() -> None:
    warm = a_rule("warm", "room", matters_from=n("2"), full=n("10"), unit="°C")
    bad = a_batch("9T", room=Room(temperature=q("29 °C"), humidity=q("80 %")))
    good = a_batch("4M", room=Room(temperature=q("19 °C"), humidity=q("50 %")))
    found = named(ask(a_book((bad, False), (good, True), rules=[warm]), bad.id))
    assert (found["room temperature"].rule, found["room humidity"].rule) == (warm, None)
    assert found["room humidity"].prior == 0.05
    near = replace(bad, room=Room(temperature=q("29 °C"), humidity=q("55 %")))
    book = a_book((near, False), (good, True), rules=[warm])
    assert list(named(ask(book, near.id))) == ["room temperature"]  # 5 % would be 2 of the rule's


def test_a_formula_without_rules_has_the_plain_chance() -> None:
    assert FORMULA.emulsion == "water-in-oil"
    assert factor(LESS).prior == 0.05
