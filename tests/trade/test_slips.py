from decimal import Decimal
from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from labbook.model.errors import Unclear
from labbook.trade.slips import BenchLine, clearly_over, far_off, leave_it, scaled_from, slip
from tests.trade.making import exact

D = Decimal


def bench(id_: str, target: str | None, weighed: str | None = None, **more: bool) -> BenchLine:
    return BenchLine(
        id=id_,
        ingredient=f"ingredient-{id_}",
        target=None if target is None else exact(target),
        weighed=None if weighed is None else exact(weighed),
        **more,
    )


CREAM = [
    bench("l1", "20", "20"),
    bench("l2", "5"),
    bench("l3", "74.5", fills_up=True),
    bench("l4", "0.5", fixed=True),
]


def test_leaving_it_makes_the_batch_larger_and_every_other_percent_smaller() -> None:
    found = slip(CREAM, "l2", exact("6"), D("0.1"))
    assert found.too_much == 1
    assert found.leave_it.size == 101
    assert found.leave_it.percents is not None
    assert found.leave_it.percents["l2"] == Fraction(600, 101)
    assert found.leave_it.percents["l1"] == Fraction(2000, 101)
    assert sum(found.leave_it.percents.values()) == 100


def test_weighing_up_keeps_the_formula() -> None:
    up = slip(CREAM, "l2", exact("6"), D("0.1")).weigh_up
    assert up.factor == Fraction(6, 5)
    assert up.targets == {"l1": D("24.0"), "l2": D("6"), "l3": D("89.4"), "l4": D("0.6")}
    assert up.still_to_add == {"l1": D("4.0"), "l3": D("89.4"), "l4": D("0.6")}
    assert up.size == 120
    assert up.exact


def test_what_is_combined_cannot_follow_and_is_named() -> None:
    lines = [bench("l1", "20", "20.2", combined=True), *CREAM[1:]]
    up = slip(lines, "l2", exact("6"), D("0.1")).weigh_up
    assert up.cant_follow == ("ingredient-l1",)
    assert up.targets["l1"] == D("20.2")
    assert "l1" not in up.still_to_add
    assert up.size == D("116.2")
    assert not up.exact


def test_a_line_over_its_new_target_keeps_what_it_holds() -> None:
    lines = [bench("l1", "20", "25"), *CREAM[1:]]
    up = scaled_from(lines, "l2", exact("6"), D("0.1"))
    assert (up.over, up.targets["l1"], up.exact) == (("ingredient-l1",), D("25"), False)


def test_what_went_in_unweighed_stays_unknown() -> None:
    lines = [bench("l1", "20", combined=True), *CREAM[1:]]
    found = slip(lines, "l2", exact("6"), D("0.1"))
    assert (found.leave_it.size, found.leave_it.percents) == (None, None)
    assert found.leave_it.missing == found.weigh_up.missing == ("ingredient-l1",)
    assert found.weigh_up.size is None
    no_target = [*CREAM, bench("l5", None)]
    assert leave_it(no_target, "l2", exact("6")).missing == ("ingredient-l5",)
    assert scaled_from(no_target, "l2", exact("6"), D("0.1")).missing == ("ingredient-l5",)


def test_taking_it_out_works_until_it_is_combined() -> None:
    out = slip(CREAM, "l2", exact("6.3"), D("0.1")).take_out
    assert (out.mass, out.possible) == (Fraction("1.3"), True)
    lines = [CREAM[0], bench("l2", "5", "5", combined=True), *CREAM[2:]]
    assert not slip(lines, "l2", exact("6.3"), D("0.1")).take_out.possible


@pytest.mark.parametrize(
    ("of", "mass", "said"),
    [
        ("l9", "6", "no line l9"),
        ("l2", "5", "not over the target of 5 g"),
        ("l5", "1", "no target"),
    ],
)
def test_what_is_no_slip_is_refused(of: str, mass: str, said: str) -> None:
    with pytest.raises(Unclear, match=said):
        slip([*CREAM, bench("l5", None)], of, exact(mass), D("0.1"))


TENTHS = st.integers(1, 500).map(lambda n: Fraction(n, 10))


@given(st.lists(TENTHS, min_size=2, max_size=12), st.integers(1, 300), st.data())
def test_weighing_up_keeps_every_percent_within_the_rounding(
    masses: list[Fraction], more: int, data: st.DataObject
) -> None:
    lines = [BenchLine(id=f"l{n}", ingredient=f"i{n}", target=m) for n, m in enumerate(masses)]
    slipped = data.draw(st.sampled_from(lines))
    assert slipped.target
    mass = slipped.target + Fraction(more, 10)
    up = scaled_from(lines, slipped.id, mass, D("0.1"))
    size = sum(masses) * up.factor
    assert up.size is not None
    assert abs(Fraction(up.size) - size) <= Fraction("0.05")
    assert sum(map(Fraction, up.targets.values())) == Fraction(up.size)
    assert Fraction(up.targets[slipped.id]) == mass
    for line, target in zip(lines, masses, strict=True):
        off = abs(Fraction(up.targets[line.id]) - target * up.factor)
        assert off <= Fraction("0.05") * (len(lines) + 1)


@given(st.lists(TENTHS, min_size=1, max_size=12), st.integers(1, 300))
def test_leaving_a_slip_never_changes_how_the_other_lines_stand_to_each_other(
    masses: list[Fraction], more: int
) -> None:
    lines = [BenchLine(id=f"l{n}", ingredient=f"i{n}", target=m) for n, m in enumerate(masses)]
    left = leave_it(lines, "l0", masses[0] + Fraction(more, 10))
    assert left.percents is not None and left.size == sum(masses) + Fraction(more, 10)
    assert sum(left.percents.values()) == 100
    for n in range(1, len(masses)):
        assert left.percents[f"l{n}"] * masses[-1] == left.percents[lines[-1].id] * masses[n]


@given(st.lists(TENTHS, min_size=2, max_size=8), st.integers(0, 40), st.data())
def test_nothing_is_ever_to_be_taken_out_when_weighing_up(
    masses: list[Fraction], more: int, data: st.DataObject
) -> None:
    hundredths = st.integers(0, 60_000).map(lambda n: Fraction(n, 100))
    lines = [
        BenchLine(
            id=f"l{n}",
            ingredient=f"i{n}",
            target=m,
            weighed=data.draw(st.none() | hundredths),
            combined=data.draw(st.booleans()),
        )
        for n, m in enumerate(masses)
    ]
    up = scaled_from(lines, "l0", masses[0] + Fraction(more, 10), D("0.1"))
    assert all(mass >= 0 for mass in up.still_to_add.values())
    for line in lines[1:]:
        if line.weighed is not None:
            assert Fraction(up.targets[line.id]) >= line.weighed


def test_the_rounding_rest_goes_where_it_does_in_a_fresh_batch() -> None:
    # Weighed up by 1.25 the lines are 1.25, 31.25 and 62.5 g: rounded to 0.1 g, 0.1 g too little.
    small, large = bench("l2", "1"), bench("l3", "25")
    lines = [bench("l1", "4"), small, large, bench("l4", "50")]
    assert scaled_from(lines, "l1", exact("5"), D("0.1")).targets["l4"] == D("62.6")
    lines = [bench("l1", "4"), bench("l2", "1", fills_up=True), large, bench("l4", "50")]
    assert scaled_from(lines, "l1", exact("5"), D("0.1")).targets["l2"] == D("1.3")
    lines = [bench("l1", "4"), small, large, bench("l4", "50", fixed=True)]
    assert scaled_from(lines, "l1", exact("5"), D("0.1")).targets["l3"] == D("31.3")


def test_rounding_asks_nobody_to_take_a_little_out_again() -> None:
    # 10 × 1.004 is 10.04 g, which this balance shows as 10.0; 10.03 g lie in the vessel.
    lines = [bench("l1", "5"), bench("l2", "10", "10.03")]
    up = scaled_from(lines, "l1", exact("5.02"), D("0.1"))
    assert (up.targets["l2"], up.still_to_add["l2"]) == (D("10.03"), D("0"))
    assert up.size == D("15.05")
    assert up.exact


@pytest.mark.parametrize(
    ("mass", "wanted", "far"),
    [("15.2", "1.52", True), ("0.152", "1.52", True), ("4.6", "1.52", True),
     ("4.56", "1.52", False), ("0.2", "1.52", False), ("1.52", None, False), ("5", "0", False)],
)  # fmt: skip
def test_ten_times_off_or_over_three_times_is_far_off(
    mass: str, wanted: str | None, *, far: bool
) -> None:
    assert far_off(exact(mass), None if wanted is None else exact(wanted)) is far


def test_from_a_twentieth_over_it_has_to_be_decided() -> None:
    assert not clearly_over(exact("10.5"), exact("10"))
    assert clearly_over(exact("10.51"), exact("10"))
    assert not clearly_over(exact("10.51"), None)
