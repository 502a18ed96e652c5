from decimal import Decimal
from fractions import Fraction
from random import Random
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from labbook.model.batch import Batch, Correction, Weighing
from labbook.model.sheets import Sheets
from labbook.trade.actual import ActualComposition, actual_composition
from labbook.trade.scaling import targets
from labbook.trade.weighing import differences, entries, weighed
from tests.trade.making import batch, composed, correction, grams, weighing


def actual(found: Batch) -> ActualComposition:
    """What was weighed, without any sheet."""
    return actual_composition(found, Sheets())


def percents(found: Batch) -> dict[str, Fraction]:
    """Percents by line, and by weighing for what no line foresaw."""
    return {line.key: line.percent for line in actual(found).lines}


LINES: dict[str, str | None] = {"l1": "23.5", "l2": "4", "l3": "72.5"}


def test_not_weighed_is_not_zero() -> None:
    made = weighed(batch(LINES, (weighing("w1", "l1", "23.5"), weighing("w2", "l2", "0"))))
    assert made.lines == {"l1": Fraction("23.5"), "l2": 0, "l3": None}


def test_several_goes_add_up_and_struck_ones_do_not_count() -> None:
    made = weighed(
        batch(
            LINES,
            (
                weighing("w1", "l1", "20"),
                weighing("w2", "l1", "3.48"),
                weighing("w3", "l2", "44", struck="misread"),
                weighing("w4", "l3", "2.55 oz"),
            ),
        )
    )
    assert made.lines["l1"] == Fraction("23.48")
    assert made.lines["l2"] is None
    assert made.lines["l3"] == Fraction("2.55") * Fraction("28.349523125")


def test_what_no_line_foresaw_stands_apart() -> None:
    found = batch(
        LINES,
        (
            weighing("w1", None, "0.2", ingredient="lavender-oil", phase="C"),
            weighing("w2", None, "9", ingredient="clay", struck="wrong pot"),
        ),
    )
    made = weighed(found)
    assert [(e.now.ingredient, e.mass) for e in made.unplanned] == [
        ("lavender-oil", Fraction("0.2"))
    ]
    assert set(made.lines.values()) == {None}
    assert made.problems == ()


def test_a_mass_of_an_unknown_line_is_kept_and_said() -> None:
    made = weighed(batch(LINES, (weighing("w1", "l9", "5"),)))
    assert [entry.mass for entry in made.unplanned] == [5]
    assert [finding.rule for finding in made.problems] == ["weighing-of-unknown-line"]


def test_a_correction_overrides_and_the_first_figure_stays() -> None:
    found = batch(
        LINES, (weighing("w4", "l1", "12.04"),), (correction("c1", "w4", "mass", "12.40 g"),)
    )
    made = weighed(found)
    assert made.lines["l1"] == Fraction("12.4")
    assert made.corrected == {"l1"}
    (entry,), _ = entries(found)
    assert (entry.first.mass, entry.now.mass) == (grams("12.04"), grams("12.40"))
    assert entry.corrections == ("c1",)


@pytest.mark.parametrize(
    ("corrections", "mass"),
    [
        ([("w1", "mass", "12.40"), ("w1", "mass", "12.50 g")], "12.5"),
        ([("w1", "mass", "1 oz")], "28.349523125"),
        ([("w1", "struck", "it was another pot")], None),
        ([("w1", "note", "the left pot")], "23.5"),
        ([("w1", None, "12")], "23.5"),
        ([("w1", "time", "12:30")], "23.5"),
        ([("r1", "mass", "12")], "23.5"),
        ([("w1", "line", "l2")], None),
    ],
)
def test_corrections_hold_in_their_order(
    corrections: list[tuple[str, str | None, str]], mass: str | None
) -> None:
    own = tuple(correction(f"c{n}", *one) for n, one in enumerate(corrections))
    found = weighed(batch(LINES, (weighing("w1", "l1", "23.5"),), own)).lines["l1"]
    assert found == (None if mass is None else Fraction(mass))


def test_only_what_changes_a_mass_marks_the_line() -> None:
    def marked(*own: Correction) -> frozenset[str]:
        return weighed(batch(LINES, (weighing("w1", "l1", "23.5"),), own)).corrected

    assert marked(correction("c1", "w1", "note", "the left pot")) == frozenset()
    assert marked(correction("c1", "w1", "struck", "another pot")) == {"l1"}
    assert marked(correction("c1", "w1", "line", "l2")) == {"l1", "l2"}


def test_a_strike_can_be_taken_back() -> None:
    found = batch(
        LINES,
        (weighing("w1", "l1", "23.5", struck="misread"),),
        (correction("c1", "w1", "struck", None),),
    )
    assert weighed(found).lines["l1"] == Fraction("23.5")


def test_a_correction_that_cannot_be_read_makes_the_mass_unknown() -> None:
    found = batch(LINES, (weighing("w1", "l1", "23.5"),), (correction("c1", "w1", "mass", "lots"),))
    made = weighed(found)
    assert made.lines["l1"] is None
    assert [finding.rule for finding in made.problems] == ["correction-unreadable"]
    assert "c1 of w1" in made.problems[0].what


def test_a_mass_taken_as_the_target_is_marked_until_it_is_corrected() -> None:
    taken = weighing("w1", "l1", "23.5", as_target=True)
    assert weighed(batch(LINES, (taken,))).as_target == {"l1"}
    own = (correction("c1", "w1", "mass", "23.4"),)
    assert weighed(batch(LINES, (taken,), own)).as_target == frozenset()


ALL = (weighing("w1", "l1", "24"), weighing("w2", "l2", "4"), weighing("w3", "l3", "72"))


def test_actual_percents_are_of_all_that_went_in() -> None:
    extra = weighing("w4", None, "25", ingredient="clay")
    made = batch(LINES, (*ALL, extra))
    assert percents(made) == {
        "l1": Fraction("19.2"), "l2": Fraction("3.2"), "l3": Fraction("57.6"), "w4": Fraction(20),
    }  # fmt: skip
    assert actual(made).put_in == 125
    assert actual(made).missing == ()


def test_without_every_mass_there_are_no_percents() -> None:
    found = actual(batch(LINES, ALL[:2]))
    assert (found.lines, found.materials) == ((), ())
    assert found.put_in == 28
    assert found.missing == ("ingredient-l3",)
    own = (correction("c1", "w4", "mass", "some"),)
    extra = weighing("w4", None, "25", ingredient="clay")
    assert actual(batch(LINES, (*ALL, extra), own)).missing == ("clay",)


def test_a_batch_of_nothing_has_no_percents() -> None:
    nothing = tuple(weighing(f"w{n}", f"l{n}", "0") for n in (1, 2, 3))
    assert not actual(batch(LINES, nothing)).known
    assert not actual(batch({})).known
    assert not actual(batch({}, (weighing("w4", None, "0", ingredient="clay"),))).known


def test_differences_are_over_or_under_the_target() -> None:
    lines = {**LINES, "l4": "1", "l5": None}
    found = differences(batch(lines, (*ALL, weighing("w5", "l5", "1"))))
    assert [d.over for d in found] == [Fraction("0.5"), 0, Fraction("-0.5"), None, None]
    assert [d.mass for d in found][3:] == [None, 1]


@pytest.mark.parametrize(
    ("acid", "water", "over"),
    [
        ("0.9", "72.5", "0"),  # all the water was in before the acid
        ("0.9", "72.2", "0"),  # some was held back, and so much less of it went in
        ("0.9", "72.4", "0"),
        ("0.9", "72.0", "-0.2"),
        ("0.9", "72.6", "0.1"),
        ("0.4", "72.6", "0"),
        ("0.4", "72.8", "0.1"),
        ("0.4", "72.3", "-0.2"),
        ("0.6", "72.3", "-0.2"),
    ],
)
def test_what_an_adjuster_took_is_no_departure_and_qs_balances_it(
    acid: str, water: str, over: str
) -> None:
    marks: dict[str, Any] = {"l1": {"adjust": "pH to 5"}, "l2": {"qs": True}}
    made = batch(
        {"l1": "0.6", "l2": "72.5"},
        (weighing("w1", "l1", acid), weighing("w2", "l2", water)),
        **marks,
    )
    first, second = differences(made)
    assert (first.expected_only, first.over) == (True, Fraction(acid) - Fraction("0.6"))
    assert (second.expected_only, second.over) == (False, Fraction(over))


MASSES = st.lists(st.decimals(min_value=0, max_value=1000, places=3), min_size=1, max_size=10)


@given(MASSES, st.randoms(use_true_random=False))
def test_the_order_of_entries_changes_no_mass(masses: list[Decimal], chance: Random) -> None:
    made: list[Weighing] = [
        weighing(f"w{n}", f"l{n % 3 + 1}", f"{mass:f}") for n, mass in enumerate(masses)
    ]
    shuffled = sorted(made, key=lambda _: chance.random())
    assert weighed(batch(LINES, tuple(made))).lines == weighed(batch(LINES, tuple(shuffled))).lines


@given(MASSES)
def test_actual_percents_add_up_to_exactly_100(masses: list[Decimal]) -> None:
    made = tuple(weighing(f"w{n}", f"l{n}", f"{mass:f}") for n, mass in enumerate(masses))
    found = batch({f"l{n}": None for n in range(len(masses))}, made)
    assert actual(found).put_in == sum(map(Fraction, masses))
    assert sum(percents(found).values()) == (100 if any(masses) else 0)


@given(st.lists(st.integers(0, 500), min_size=1, max_size=10))
def test_a_batch_weighed_to_its_targets_reads_back_without_differences(parts: list[int]) -> None:
    amounts = {f"i{n}": f"{Decimal(part) / 100:f}" for n, part in enumerate(parts)}
    cream = composed(**amounts, water="qs")
    found = targets(cream, grams("200"), grams("0.01").value)
    lines: dict[str, str | None] = {f"l{t.line.index}": str(t.mass) for t in found}
    entered = tuple(weighing(f"w-{id_}", id_, mass or "") for id_, mass in lines.items())
    made = batch(lines, entered)
    assert {d.over for d in differences(made)} == {0}
    assert actual(made).put_in == 200
    shares = percents(made)
    for target in found:
        share = shares[f"l{target.line.index}"]
        assert target.line.percent is not None and target.rest is not None
        allowed = (Fraction("0.005") + abs(Fraction(target.rest))) / 2
        assert abs(share - target.line.percent) <= allowed
