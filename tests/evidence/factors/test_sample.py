"""The sample notebook's own question: why 9T separated and 4M did not."""

from functools import cache
from typing import Any

import pytest

from labbook.evidence.book import Book
from labbook.evidence.factors import ask, ask_formula, horizons, shared, unanswered
from labbook.evidence.factors.stuff import stuff_of
from labbook.evidence.made import made_of
from labbook.evidence.outcomes import in_condition
from labbook.model.sheets import Sheets
from tests.evidence.factors.notebooks import named, sides
from tests.sample import TODAY, batches, last, versions


@cache
def book() -> Book:
    """The sample notebook as its factors see it."""

    def kind(folder: str) -> dict[str, Any]:
        return {p.split("/")[-1][:-5]: r for p, r in last().items() if p.startswith(folder)}

    def beside(name: str) -> dict[str, Any]:
        paths = {b.id: f"batches/2026/{b.id}/{name}.yaml" for b in batches().values()}
        return {id_: last()[path] for id_, path in paths.items() if path in last()}

    made = {b.id: b for b in batches().values()}
    return Book(
        batches=made,
        jars=beside("jars"),
        stability=beside("stability"),
        contents={i: versions()[b.formula.code, b.formula.version] for i, b in made.items()},
        formulas={f.code: f for f in kind("formulas/").values()},
        sheets=Sheets(kind("ingredients/")),
        lots=kind("lots/"),
        equipment=kind("equipment/"),
        today=TODAY,
    )


def id_of(short: str) -> str:
    return batches()[short].id


@pytest.mark.parametrize("good", ["4M", ""])
def test_9t_and_4m_differ_in_three_things(good: str) -> None:
    found = ask(book(), id_of("9T"), id_of(good) if good else "")
    assert (found.failed, found.good) == (id_of("9T"), id_of("4M"))
    assert [(f.what, f.failed, f.good, f.unit) for f in found.factors] == [
        ("polyglyceryl-3-diisostearate", "3.60", "4.50", "%"),
        ("sodium-chloride", "0.40", "0.80", "%"),
        ("water phase when combined", "58", "71", "°C"),
    ]
    assert (found.event.horizon, found.modes) == (7, ("water below",))


def test_who_counts_and_where_they_stand() -> None:
    found = ask(book(), id_of("9T"), id_of("4M"))
    assert {row.unit[-2:]: row.state for row in found.rows} == {
        "4M": "intact", "9T": "failed", "C3": "intact", "R8": "intact", "K2": "intact",
        "N6": "intact", "H5": "intact",
    }  # fmt: skip
    assert found.left_out == ((id_of("7K"), "too young"),)
    cold = sides(found, "water phase when combined")
    assert {short for short, side in cold.items() if side} == {"9T", "R8"}
    for what in ("polyglyceryl-3-diisostearate", "sodium-chloride"):
        own = sides(found, what)
        assert [short for short, side in own.items() if side] == ["9T"]
        assert None not in own.values()


def test_water_follows_and_the_speed_was_not_written_down() -> None:
    found = ask(book(), id_of("9T"), id_of("4M"))
    assert [(i.what, i.a, i.b, i.unit) for i in found.follows] == [
        ("water, q.s.", "71.70", "70.40", "%")
    ]
    assert [i.what for i in named(found)["sodium-chloride"].folded] == ["water, q.s."]
    assert [(u.what, u.failed, u.good, u.line) for u in found.unrecorded] == [
        ("combine: speed", None, "11000 rpm", 'labbook note 9t "blender ... rpm"')
    ]


def test_later_looks_and_the_furthest_horizon() -> None:
    found = ask(book(), id_of("9T"), id_of("4M"))
    assert found.until_most == 84  # 9T was made 84 days ago
    assert horizons(book(), found) == (14, 28, 60)
    later = ask(book(), id_of("9T"), id_of("4M"), until=28)
    assert [unit[-2:] for unit, _ in later.left_out] == ["H5", "7K"]


def test_the_formula_as_a_whole_says_the_same() -> None:
    found = ask_formula(book(), "SBC")
    ups = {f.what: (f.failed, f.good) for f in found.factors if f.kind in ("amount", "temperature")}
    assert ups["polyglyceryl-3-diisostearate"] == ("up to 3.60 %", "from 4.50 %")
    assert ups["water phase when combined"] == ("up to 58 °C", "from 70 °C")
    best = shared(book(), "SBC").singles[0]
    assert (best.parts[0].what, best.counts) == ("polyglyceryl-3-diisostearate", (1, 0, 0, 6))
    assert [part.what for (part,) in best.alike] == ["sodium-chloride"]


def test_the_balm_and_the_lotion() -> None:
    balm = ask(book(), id_of("B6"))
    assert (balm.event.group, balm.event.condition, balm.good) == (
        "structure", "fridge", id_of("G2"),
    )  # fmt: skip
    assert [f.kind for f in balm.factors] == ["time", "skipped"]
    lotion = ask(book(), id_of("D4"))
    assert "xanthan-gum" in named(lotion)


def test_only_the_speed_is_left_open_for_9t() -> None:
    assert [(one.number, one.lacks) for one in unanswered(book(), id_of("9T"))] == [
        (2, "the speed")
    ]


@pytest.mark.parametrize("short", sorted(batches()))
def test_amounts_are_the_same_in_one_pass_as_in_a_comparison(short: str) -> None:
    batch = batches()[short]
    at_leisure = made_of(batch, book().sheets, book().equipment)
    stuff = stuff_of(book(), batch)
    assert stuff.slots == at_leisure.slots
    for (phase, sheet), amount in at_leisure.amounts.items():
        mine = stuff.amounts[sheet][phase]
        assert (mine.percent, mine.planned, mine.typed, mine.own, mine.lots) == (
            amount.percent, amount.planned, amount.typed, amount.own, amount.lots,
        )  # fmt: skip
        assert float(mine.variance) == pytest.approx(float(amount.variance))


@pytest.mark.parametrize("short", sorted(batches()))
def test_outcomes_of_one_condition_are_those_of_all(short: str) -> None:
    batch = batches()[short]
    fresh = Book(**{name: getattr(book(), name) for name in (
        "batches", "jars", "stability", "formulas", "today")})  # fmt: skip
    for condition in ("room", "fridge", "40 °C", "freeze-thaw"):
        alone = in_condition(fresh.outcomes_in(batch, condition), condition)
        assert alone == in_condition(book().outcomes(batch), condition)
        if any(one.state == "failed" for one in book().outcomes(batch)):
            assert fresh.may_have_failed(batch)
