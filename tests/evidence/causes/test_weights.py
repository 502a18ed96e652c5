"""Sets that are put off or left out for time's sake change nothing that is shown."""

from __future__ import annotations

from random import Random

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from labbook.evidence.causes import Rate, Row, Suspect, reckon, weights
from labbook.evidence.causes.likelihood import Likelihood
from tests.evidence.causes.notebooks import RATES

COUNT = st.integers(0, 12)


@settings(max_examples=200, deadline=None)
@given(st.tuples(COUNT, COUNT, COUNT, COUNT), COUNT, COUNT, RATES, st.floats(0, 0.9))
def test_a_bound_is_never_below_what_it_bounds(
    counted: tuple[int, int, int, int], failed: int, intact: int, rate: Rate, outside: float
) -> None:
    f, n, loose_failed, loose_intact = counted
    likelihood = Likelihood(f + loose_failed + failed, n + loose_intact + intact)
    without, having = likelihood.of(counted, rate)
    exact = (1 - outside) * without + outside * having
    assert likelihood.at_most(counted, rate, outside) >= exact * (1 - 1e-9)


def test_what_is_put_off_makes_no_difference(monkeypatch: pytest.MonkeyPatch) -> None:
    chance = Random(5)
    batches = []
    for n in range(120):
        sides = tuple(
            None if chance.random() < (0.7 if i > 4 else 0.05) else chance.random() < 0.3
            for i in range(8)
        )
        batches.append(Row(str(n), chance.random() < (0.95 if sides[0] else 0.02), sides))
    who = [Suspect(str(i), 0.25 if i < 3 else 0.05) for i in range(8)]
    quick = reckon(who, batches)
    assert sum(x == 0 for x in quick.weights.plain) > 100
    monkeypatch.setattr(weights, "QUICK", 10**9)
    whole = reckon(who, batches)
    assert all(whole.weights.plain)
    assert quick.marginals == pytest.approx(whole.marginals, abs=1e-9)
    assert quick.outside == pytest.approx(whole.outside, abs=1e-9)
