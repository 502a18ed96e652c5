"""The Weibull curve: its laws, its minima, and what it finds again."""

from __future__ import annotations

import random
from math import log

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from labbook.evidence.statistics.intervals import Interval
from labbook.evidence.statistics.refusal import Refusal
from labbook.evidence.statistics.weibull import Weibull, weibull
from tests.evidence.statistics.outcomes import groups, seen

FIVE = [Interval(1, 7), Interval(7, 14), Interval(7, 14), Interval(14, 28), Interval(28, 60)]


def found(outcomes: list[Interval]) -> Weibull:
    one = weibull(outcomes)
    assert isinstance(one, Weibull)
    return one


def drawn(shape: float, scale: float, many: int, seed: int) -> list[Interval]:
    draw = random.Random(seed)
    ages = (scale * (-log(1 - draw.random())) ** (1 / shape) for _ in range(many))
    return [seen(age, (1, 3, 7, 14, 28, 60, 90, 120)) for age in ages]


@settings(max_examples=100, deadline=None)
@given(groups(5, 14), st.sampled_from([0.1, 7.0, 1000.0]), st.randoms(use_true_random=False))
def test_neither_order_nor_unit_of_time_matters(
    outcomes: list[Interval], by: float, shuffle: random.Random
) -> None:
    other = [
        Interval(one.low * by, None if one.high is None else one.high * by) for one in outcomes
    ]
    shuffle.shuffle(other)
    one, two = weibull(outcomes), weibull(other)
    assert type(one) is type(two)
    if isinstance(one, Weibull) and isinstance(two, Weibull):
        assert two.shape == pytest.approx(one.shape, rel=1e-5)
        assert two.scale == pytest.approx(one.scale * by, rel=1e-5)


@settings(max_examples=60, deadline=None)
@given(groups(5, 14), st.floats(0.8, 1.25), st.floats(0.8, 1.25))
def test_no_curve_nearby_is_more_probable(
    outcomes: list[Interval], wider: float, longer: float
) -> None:
    one = weibull(outcomes)
    if isinstance(one, Weibull):
        later = [o for o in outcomes if o.high != 0]

        def level(shape: float, scale: float) -> float:
            return sum(
                log(
                    (1.0 if not o.low else 2.0 ** -((o.low / scale) ** shape * 1.4426950408889634))
                    - (0.0 if o.high is None else 2.0 ** -((o.high / scale) ** shape / log(2)))
                )
                for o in later
            )

        assert level(one.shape, one.scale) == pytest.approx(one.log_likelihood, rel=1e-6)
        assert level(one.shape * wider, one.scale * longer) <= one.log_likelihood + 1e-7


@pytest.mark.parametrize(("shape", "scale"), [(0.7, 40.0), (1.0, 30.0), (2.5, 50.0)])
def test_a_known_curve_is_found_again(shape: float, scale: float) -> None:
    one = found(drawn(shape, scale, 2000, 1))
    assert abs(log(one.shape / shape)) < 3 * one.shape_error
    assert abs(log(one.scale / scale)) < 3 * one.scale_error
    assert one.shape_error < 0.05


def test_what_failed_while_making_is_kept_out_and_still_counted() -> None:
    without, with_ = found(FIVE), found([*FIVE, *[Interval(0, 0)] * 5])
    assert (with_.shape, with_.scale) == pytest.approx((without.shape, without.scale))
    assert (with_.of, with_.failed, with_.while_making) == (10, 5, 5)
    at_first = with_.intact(0)
    assert at_first == pytest.approx(0.5)
    alone, both = without.intact(60), with_.intact(60)
    assert isinstance(alone, float)
    assert both == pytest.approx(alone / 2)


def test_four_failures_or_two_intervals_are_too_few() -> None:
    few = weibull([*FIVE[:4], *[Interval(90, None)] * 10, *[Interval(0, 0)] * 3])
    assert isinstance(few, Refusal)
    assert few.why.startswith("4 failed after the making, in 3 different intervals; ")
    same = weibull([Interval(1, 7)] * 4 + [Interval(7, 14)] * 4)
    assert isinstance(same, Refusal)
    assert "in 2 different intervals" in same.why


@pytest.mark.parametrize(
    "outcomes",
    [
        [Interval(1, 30), Interval(5, 30), Interval(8, 60), Interval(7, 40), Interval(2, 50)],
        [*[Interval(1, 7)] * 2, *[Interval(7, 14)] * 2, Interval(3, 10), Interval(5, None)],
    ],
)
def test_failures_that_could_have_come_on_one_day_are_refused(outcomes: list[Interval]) -> None:
    one = weibull(outcomes)
    assert isinstance(one, Refusal)
    assert "at one age" in one.why
    assert isinstance(weibull([*outcomes, Interval(90, None)]), Weibull)


def test_failures_found_at_the_first_look_are_refused() -> None:
    outcomes = [Interval(0, day) for day in (7, 14, 14, 28, 30)] + [Interval(60, None)] * 3
    for given_ in (outcomes, [*outcomes, Interval(14, None)]):
        one = weibull(given_)
        assert isinstance(one, Refusal)
        assert "before the first look" in one.why
    assert isinstance(weibull([*outcomes, *[Interval(14, 28)] * 2]), Weibull)


def test_no_share_beyond_the_last_look() -> None:
    assert isinstance(found(FIVE).intact(61), Refusal)
