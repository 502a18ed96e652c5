"""The reckoning of causes against figures computed elsewhere.

The chances were computed by an independent prototype, to three digits; the model is stated with
each. Common to all: a set of causes holds each factor with its own chance, independently. A batch
fails with one rate where at least one factor of the set is on the failed side, and with another
elsewhere; the rate without a cause is Beta(1, 9), the rate with one Beta(9, 1) ("always"), and both
are integrated out.
"""

import pytest

from labbook.evidence.causes import Suspect, after, gains, one_sided_exact, reckon
from tests.evidence.causes.brute import likelihood
from tests.evidence.causes.notebooks import rows, suspects

THREE = suspects(0.5, 0.5, 0.05)
BOTH = rows("111 failed, 000 intact")


def test_one_failed_and_one_good_batch() -> None:
    # Independent prototype. Three factors with 0.5, 0.5, 0.05; nothing outside.
    found = reckon(THREE, BOTH, rate="always", outside=0)
    assert found.marginals == pytest.approx((0.636, 0.636, 0.064), abs=5e-4)


def test_the_next_batch_from_there() -> None:
    # Independent prototype. Bits: the entropy of the outcome less its mean entropy given the set.
    found = reckon(THREE, BOTH, rate="always", outside=0)
    for setting in ((False, True, False), (True, False, False)):
        seen = after(found, setting)
        assert (seen.bits, seen.failure) == pytest.approx((0.517, 0.613), abs=5e-4)
    best = gains(found)[:2]
    assert {g.setting for g in best} == {(False, True, False), (True, False, False)}


def test_the_first_factor_alone_held() -> None:
    # Independent prototype. The same with a third batch.
    found = reckon(THREE, [*BOTH, *rows("100 intact")], rate="always", outside=0)
    assert found.marginals == pytest.approx((0.149, 0.822, 0.082), abs=5e-4)


def test_something_outside_the_notebook() -> None:
    # Independent prototype. With chance 0.2 something unrecorded acts; then the rate without a
    # cause is Beta(1, 1).
    found = reckon(THREE, BOTH, rate="always", outside=0.2)
    assert found.marginals == pytest.approx((0.629, 0.629, 0.063), abs=5e-4)
    assert found.outside == pytest.approx(0.131, abs=5e-4)


def test_failures_on_both_sides_speak_for_something_outside() -> None:
    # Independent prototype. One factor with 0.25; outside 0.2.
    batches = rows("1 failed, 0 intact, 0 failed, 1 intact, 0 failed")
    found = reckon([Suspect("a", 0.25)], batches, rate="always", outside=0.2)
    assert found.marginals[0] == pytest.approx(0.128, abs=5e-4)
    assert found.outside == pytest.approx(0.644, abs=5e-4)


def test_two_suspects_read_together() -> None:
    # Independent prototype, two digits: only the first 0.30, only the second 0.30, both 0.30,
    # neither 0.03. These are the sets without the third factor, whose chance is taken off here.
    found = reckon(THREE, BOTH, rate="always", outside=0)
    without_third = dict(
        zip(
            found.weights.masks,
            map(sum, zip(found.weights.plain, found.weights.outside, strict=True)),
            strict=True,
        )
    )
    four = [without_third[mask] for mask in (0b001, 0b010, 0b011, 0b000)]
    assert four == pytest.approx((0.30, 0.30, 0.30, 0.03), abs=5e-3)


def test_a_cleared_factor_can_rise_again() -> None:
    # Independent prototype. Two factors with 0.5; nothing outside. An intact batch on the failed
    # side of both makes failing rare with a cause present, and the first factor less cleared.
    two, seen = suspects(0.5, 0.5), "11 failed, 00 intact, 10 intact"
    before = reckon(two, rows(seen), rate="always", outside=0)
    then = reckon(two, rows(f"{seen}, 11 intact"), rate="always", outside=0)
    assert before.marginals[0] == pytest.approx(0.155, abs=5e-4)
    assert then.marginals[0] == pytest.approx(0.165, abs=5e-4)


def test_undecided_batches_are_summed_over_and_not_dropped() -> None:
    # Independent prototype: 0.151 where undecided batches are summed over both sides, 0.641 where
    # a set of causes drops the batches that it can't place. Two factors with 0.25, nothing outside;
    # after one failed and one good batch six intact ones, in which the second wasn't written down.
    two = suspects(0.25, 0.25)
    batches = rows("11 failed, 00 intact" + ", 0? intact" * 6)
    assert reckon(two, batches, rate="always", outside=0).marginals[1] == pytest.approx(
        0.151, abs=5e-4
    )
    dropping = {}
    for of in ((), (0,), (1,), (0, 1)):
        placed = batches[:2] if 1 in of else batches
        prior = 0.25 ** len(of) * 0.75 ** (2 - len(of))
        dropping[of] = prior * float(likelihood(placed, (of, None), "always", outside=False))
    convicted = (dropping[1,] + dropping[0, 1]) / sum(dropping.values())
    assert convicted == pytest.approx(0.641, abs=5e-4)


def test_the_exact_test_of_the_tea_tasting() -> None:
    # Fisher, The Design of Experiments (1935), chapter II, from memory: all four of four cups told
    # right among eight has 1/70, at least three 17/70.
    assert one_sided_exact(4, 4, 0, 4) == pytest.approx(1 / 70)
    assert one_sided_exact(3, 4, 1, 4) == pytest.approx(17 / 70)


def test_the_exact_test_of_the_convicted_twins() -> None:
    # Fisher (1935), The logic of inductive inference, J. R. Stat. Soc. 98, from memory: of 13
    # monozygotic twins of criminals 10 were convicted, of 17 dizygotic ones 2: 619/1330665.
    assert one_sided_exact(10, 13, 2, 17) == pytest.approx(619 / 1330665)
