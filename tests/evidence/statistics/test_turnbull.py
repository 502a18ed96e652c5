"""Laws of the curve, its refusals, and what simulated watching says of it."""

from __future__ import annotations

import random
from itertools import pairwise
from math import exp, log

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from labbook.evidence.statistics.intervals import Interval, interval
from labbook.evidence.statistics.likelihood import fit, problem
from labbook.evidence.statistics.refusal import Refusal
from labbook.evidence.statistics.turnbull import (
    Between,
    Curve,
    bounds_at,
    kaplan_meier,
    turnbull,
)
from tests.evidence.statistics.outcomes import groups, watched

LAW = settings(max_examples=150, deadline=None)
NEAR = 2e-3
"""How far masses may be off where the likelihood, within 1e-9 of its greatest, is nearly flat."""


def curve(outcomes: list[Interval]) -> Curve:
    found = turnbull(outcomes)
    assert isinstance(found, Curve)
    return found


def intact(outcomes: list[Interval], age: float) -> Between:
    found = curve(outcomes).intact(age)
    assert isinstance(found, Between)
    return found


@LAW
@given(groups(), st.randoms(use_true_random=False))
def test_the_order_of_batches_is_immaterial(
    outcomes: list[Interval], shuffle: random.Random
) -> None:
    other = outcomes[:]
    shuffle.shuffle(other)
    one, two = curve(outcomes), curve(other)
    assert one.log_likelihood == pytest.approx(two.log_likelihood, abs=1e-7)
    for a, b in zip(one.pieces, two.pieces, strict=True):
        assert (a.start, a.end) == (b.start, b.end)
        assert (a.low, a.high) == pytest.approx((b.low, b.high), abs=NEAR)


@LAW
@given(groups())
def test_the_curve_never_rises_and_its_pieces_touch(outcomes: list[Interval]) -> None:
    found = curve(outcomes)
    assert found.gap < 1e-8
    assert all(0 <= piece.low <= piece.high <= 1 for piece in found.pieces)
    for one, then in pairwise(found.pieces):
        assert one.end == then.start
        assert then.high <= one.high
        assert then.low <= one.low
    if found.pieces:
        assert (found.pieces[0].start, found.pieces[-1].end) == (0, found.until)
    total = found.while_making + sum(s.mass for s in found.stretches)
    assert total == pytest.approx(1, abs=1e-9)


@LAW
@given(groups(), st.sampled_from([0.25, 2.0, 7.0, 100.0]))
def test_scaling_time_scales_the_curve(outcomes: list[Interval], by: float) -> None:
    scaled = [
        Interval(one.low * by, None if one.high is None else one.high * by) for one in outcomes
    ]
    one, two = curve(outcomes), curve(scaled)
    assert one.log_likelihood == pytest.approx(two.log_likelihood, abs=1e-9)
    for a, b in zip(one.pieces, two.pieces, strict=True):
        assert (a.start * by, a.end * by) == pytest.approx((b.start, b.end))
        assert (a.low, a.high) == pytest.approx((b.low, b.high), abs=1e-9)


@LAW
@given(groups(most=8))
def test_no_random_masses_are_more_probable(outcomes: list[Interval]) -> None:
    """The greatest likelihood, against masses drawn at random: independent of how it was found."""
    given_ = problem(outcomes)
    best = fit(given_).log_likelihood
    draw = random.Random(len(outcomes))
    for _ in range(30):
        weights = [draw.random() ** 3 for _ in given_.supports]
        masses = [w / sum(weights) for w in weights]
        level = sum(times * log(sum(masses[start:stop])) for start, stop, times in given_.held)
        assert level <= best + 1e-8


def test_a_failure_while_making_is_a_mass_at_0() -> None:
    found = curve([Interval(0, 0, "N1"), Interval(7, None), Interval(0, 7), Interval(7, 14)])
    assert found.while_making == pytest.approx(0.25)
    assert found.pieces[0].high == pytest.approx(0.75)
    assert (found.of, found.failed) == (4, 3)


def test_what_nobody_looked_at_is_not_counted() -> None:
    assert interval(None, None) is None
    assert interval(None, 7.0) == Interval(0.0, 7.0)
    assert interval(None, 0.0) == Interval(0.0, 0.0)
    assert isinstance(turnbull([]), Refusal)


def test_no_curve_beyond_the_last_look() -> None:
    found = curve([Interval(7, 14), Interval(28, None)])
    assert found.until == 28
    beyond = found.intact(29)
    assert isinstance(beyond, Refusal)
    assert beyond.why == "29 is not within what was watched, which ends at 28"
    assert found.intact(10) == Between(0.5, 1.0)


@pytest.mark.parametrize(("low", "high"), [(-1.0, None), (7.0, 7.0), (7.0, 3.0), (3.0, 0.0)])
def test_intervals_that_cannot_be(low: float, high: float | None) -> None:
    with pytest.raises(ValueError, match="9T: intact at"):
        Interval(low, high, "9T")


# The special case --------------------------------------------------------------------------------


@LAW
@given(st.lists(st.tuples(st.integers(1, 9), st.booleans()), min_size=1, max_size=12))
def test_equal_looks_give_the_same_curve_in_both_ways(batches: list[tuple[int, bool]]) -> None:
    outcomes = [Interval(age - 1, age) if fell else Interval(age, None) for age, fell in batches]
    steps = kaplan_meier(outcomes, [range(1, 10)] * len(outcomes))
    assert isinstance(steps, tuple)
    for step in steps:
        assert intact(outcomes, step.age).low == pytest.approx(step.intact, abs=NEAR)


def test_unequal_looks_are_refused() -> None:
    outcomes = [Interval(7, 14, "9T"), Interval(14, None, "R8")]
    found = kaplan_meier(outcomes, [(7, 14), (14,)])
    assert isinstance(found, Refusal)
    assert "R8 was not looked at on day 7" in found.why
    assert isinstance(kaplan_meier(outcomes, [(7, 14, 90), (7, 14)]), tuple)


# Bounds ------------------------------------------------------------------------------------------


@settings(max_examples=25, deadline=None)
@given(groups(least=8, most=14), st.integers(1, 5), st.integers(1, 10))
def test_more_intact_batches_never_widen_the_bounds_downwards(
    outcomes: list[Interval], more: int, age: int
) -> None:
    """Batches intact to the end raise the lower bound; the curve itself never falls by them."""
    until = max(13.0, *(one.high or one.low for one in outcomes))
    held = [*outcomes, Interval(until, None)]
    steady = [*held, *[Interval(until, None)] * more]
    before, after = bounds_at(held, age), bounds_at(steady, age)
    assert isinstance(before, Between)
    assert isinstance(after, Between)
    assert after.low >= before.low - 1e-4
    assert intact(steady, age).low >= intact(held, age).low - NEAR


@LAW
@given(groups(least=8), st.integers(0, 12))
def test_the_bounds_hold_the_curve(outcomes: list[Interval], age: int) -> None:
    found, here = bounds_at(outcomes, age), curve(outcomes).intact(age)
    assert isinstance(found, Between) == isinstance(here, Between)
    if isinstance(found, Between) and isinstance(here, Between):
        assert 0 <= found.low <= here.low + 1e-4
        assert here.high - 1e-4 <= found.high <= 1


def test_bounds_take_eight_outcomes() -> None:
    found = bounds_at([Interval(7, 14)] * 7, 7)
    assert isinstance(found, Refusal)
    assert "at least 8" in found.why


PLANS = ((1, 7, 14, 28, 60, 90), (10, 30, 50, 75, 100))
"""Two plans of looks that differ, as those of two makers do."""


def test_the_curve_finds_the_true_share_where_many_were_watched() -> None:
    draw = random.Random(5)
    outcomes = watched(draw, 2000, 0.01, PLANS)
    for age in (14, 28, 60):
        here = intact(outcomes, age)
        assert here.low - 0.04 <= exp(-0.01 * age) <= here.high + 0.04
