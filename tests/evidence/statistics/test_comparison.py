"""Laws of the comparison, its minimum, and its p against chance itself."""

from __future__ import annotations

import random
from itertools import combinations
from math import comb, fsum

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from labbook.evidence.causes import one_sided_exact
from labbook.evidence.statistics.comparison import Kind, compare, permuted, scores
from labbook.evidence.statistics.intervals import Interval
from tests.evidence.statistics.outcomes import groups, watched

LAW = settings(max_examples=60, deadline=None)
KINDS: tuple[Kind, ...] = ("log-rank", "proportional hazards", "wilcoxon")
EARLY = [Interval(1, 7)] * 4
LATE = [Interval(90, None)] * 4


@LAW
@given(groups(4, 7), groups(4, 7), st.sampled_from(KINDS))
def test_swapping_the_groups_changes_the_sign_only(
    one: list[Interval], other: list[Interval], kind: Kind
) -> None:
    here, there = compare(one, other, kind=kind), compare(other, one, kind=kind)
    assert here.p == there.p
    assert here.score == pytest.approx(-there.score, abs=1e-4)
    assert here.smallest_p == there.smallest_p
    assert here.smallest_p_as_seen == there.smallest_p_as_seen


@settings(max_examples=10, deadline=None)
@given(groups(9, 9), groups(11, 11), st.randoms(use_true_random=False))
def test_drawn_arrangements_know_neither_order_nor_which_group_is_first(
    one: list[Interval], other: list[Interval], shuffle: random.Random
) -> None:
    found = compare(one, other)
    assert not found.exact
    assert found.arrangements == 10_000
    assert compare(other, one).p == found.p
    shuffle.shuffle(one)
    shuffle.shuffle(other)
    assert compare(one, other).p == found.p
    assert found.p is not None
    assert 0 < found.p <= 1


def test_a_drawn_p_is_never_nothing() -> None:
    """What was seen is one of the arrangements, so 10,000 draws without its like give 1/10,001."""
    assert compare(EARLY * 6, LATE * 6).p == 1 / 10_001


@LAW
@given(groups(2, 14), st.sampled_from(KINDS))
def test_scores_sum_to_nothing(outcomes: list[Interval], kind: Kind) -> None:
    assert fsum(scores(outcomes, kind)) == pytest.approx(0, abs=1e-4)


@LAW
@given(groups(4, 5), groups(4, 5), st.sampled_from([0.5, 3.0, 30.0]))
def test_the_unit_of_time_is_immaterial(
    one: list[Interval], other: list[Interval], by: float
) -> None:
    def scaled(outcomes: list[Interval]) -> list[Interval]:
        return [Interval(o.low * by, None if o.high is None else o.high * by) for o in outcomes]

    assert compare(scaled(one), scaled(other)).p == compare(one, other).p


@LAW
@given(st.lists(st.integers(-3, 3), min_size=8, max_size=9), st.integers(4, 5))
def test_the_exact_p_is_a_count_of_all_arrangements(values: list[int], own: int) -> None:
    every = [value - sum(values) / len(values) for value in values]
    few = min(own, len(every) - own)
    sums = [sum(dealt) for dealt in combinations(every, few)]
    expected = sum(abs(s) >= abs(sum(every[:own])) - 1e-6 for s in sums) / len(sums)
    assert permuted(every, every[:own]) == (expected, comb(len(every), few))


def test_all_against_none_is_fishers_exact_test_twice() -> None:
    found = compare(EARLY, LATE)
    # One interval for all failures: the scores take two values, as in Fisher's test.
    assert found.p == pytest.approx(2 * one_sided_exact(4, 4, 0, 4))
    assert found.p == found.smallest_p == 2 / 70
    assert (found.exact, found.arrangements) == (True, 70)
    assert (found.first.failed, found.second.failed) == (4, 0)
    assert found.score > 0


def test_below_four_and_four_only_counts_and_the_smallest_p() -> None:
    found = compare(EARLY[:3], LATE, names=("SBC@1", "SBC@2"))
    assert found.p is None
    assert found.why_no_p == "3 and 4 batches: a p-value takes at least 4 and 4"
    assert (found.first.name, found.first.of, found.first.failed) == ("SBC@1", 3, 3)
    assert found.smallest_p == 1 / 35
    assert compare(EARLY[:3], LATE[:3]).smallest_p == 1 / 10
    with pytest.raises(ValueError, match="SBC@2: no outcomes"):
        compare(EARLY, [], names=("SBC@1", "SBC@2"))


@pytest.mark.parametrize(
    ("first", "second", "smallest"),
    [
        (LATE[:3], LATE[:3], 1.0),  # nobody failed: every arrangement is the same
        (EARLY[:1] + LATE[:2], LATE[:3], 1.0),  # one failure falls into one of the two for sure
        (EARLY[:3], LATE[:3], 0.1),
        (EARLY[:2] + LATE[:1], LATE[:3], 0.4),  # both of two in one group: 2 · 4/20
    ],
)
def test_the_smallest_p_of_what_was_seen(
    first: list[Interval], second: list[Interval], smallest: float
) -> None:
    assert compare(first, second).smallest_p_as_seen == pytest.approx(smallest)


@LAW
@given(groups(3, 4), groups(3, 5))
def test_the_smallest_p_is_reached_by_some_dealing(
    one: list[Interval], other: list[Interval]
) -> None:
    every = sorted(scores([*one, *other]))
    few = min(len(one), len(other))
    sums = [abs(fsum(dealt)) for dealt in combinations(every, few)]
    share = sum(s >= max(sums) - 1e-6 for s in sums) / len(sums)
    assert compare(one, other).smallest_p_as_seen == pytest.approx(share)


def test_ties_but_for_rounding_count_as_ties() -> None:
    """Two scores of 2/15 that differ in their last digit: four dealings are as uneven, not two."""
    one = [Interval(4, 5), Interval(4, 7), Interval(5, 11)]
    other = [Interval(9, 10), Interval(2, 4), Interval(0, 0)]
    assert compare(one, other).smallest_p_as_seen == pytest.approx(4 / 20)


def test_the_smallest_p_is_reached_by_some_dealing_of_many_groups() -> None:
    draw = random.Random(0)
    for _ in range(300):
        fates = [_fate(draw) for _ in range(draw.randint(6, 9))]
        one, other = fates[:3], fates[3:]
        sums = [abs(fsum(dealt)) for dealt in combinations(scores(fates), 3)]
        share = sum(s >= max(sums) - 1e-6 for s in sums) / len(sums)
        assert compare(one, other).smallest_p_as_seen == pytest.approx(share)


def _fate(draw: random.Random) -> Interval:
    kind, low = draw.random(), float(draw.randint(0, 12))
    if kind < 0.2:
        return Interval(0, 0)
    return Interval(low, None if kind < 0.5 else low + draw.randint(1, 6))


def test_chance_alone_gives_small_p_as_rarely_as_it_should() -> None:
    """No difference, and the two groups watched by plans that differ."""
    draw = random.Random(3)
    few = 0
    for _ in range(200):
        one = watched(draw, 6, 0.02, [(1, 7, 14, 28, 60, 90)])
        other = watched(draw, 6, 0.02, [(10, 30, 50, 75, 100)])
        p = compare(one, other).p
        assert p is not None
        few += p <= 0.1
    # 20 are expected; 33 or more would come once in 300 at a true tenth.
    assert few <= 32


def test_a_true_difference_is_found() -> None:
    draw = random.Random(3)
    plan = [(1, 7, 14, 28, 60, 90)]
    small = 0
    for _ in range(30):
        p = compare(watched(draw, 12, 0.15, plan), watched(draw, 12, 0.01, plan)).p
        assert p is not None
        small += p <= 0.05
    assert small >= 27
