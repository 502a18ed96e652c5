"""The reckoning against the same chances added up one by one, on random small notebooks."""

from __future__ import annotations

from itertools import combinations

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from labbook.evidence.causes import Rate, Row, Suspect, after, gains, reckon
from labbook.evidence.causes.next_batch import entropy
from tests.evidence.causes.brute import Brute
from tests.evidence.causes.notebooks import OUTSIDE, RATES, notebooks

Notebook = tuple[tuple[Suspect, ...], tuple[Row, ...]]
FEW = settings(max_examples=40, deadline=None, suppress_health_check=[HealthCheck.too_slow])


@FEW
@given(notebooks(most=6, batches=5), RATES, OUTSIDE)
def test_chances_of_all_sets(notebook: Notebook, rate: Rate, outside: float) -> None:
    suspects, rows = notebook
    found = reckon(suspects, rows, rate=rate, outside=outside)
    brute = Brute(suspects, rows, rate, outside)
    k = range(len(suspects))
    assert found.marginals == pytest.approx([brute.marginal(i) for i in k], abs=1e-9)
    assert found.outside == pytest.approx(brute.outside, abs=1e-9)
    assert found.any_cause == pytest.approx(brute.any_cause, abs=1e-9)
    for i, j in combinations(k, 2):
        both = brute.both(i, j)
        assert found.both(i, j) == pytest.approx(both, abs=1e-9)
        assert found.only(i, j) == pytest.approx(brute.marginal(i) - both, abs=1e-9)
        neither = 1 - brute.marginal(i) - brute.marginal(j) + both
        assert found.neither(i, j) == pytest.approx(neither, abs=1e-9)


@FEW
@given(notebooks(most=4, batches=5), RATES, OUTSIDE)
def test_chances_with_pairs(notebook: Notebook, rate: Rate, outside: float) -> None:
    suspects, rows = notebook
    found = reckon(suspects, rows, rate=rate, outside=outside, pairs=True)
    brute = Brute(suspects, rows, rate, outside, pairs=True)
    k = range(len(suspects))
    assert found.marginals == pytest.approx([brute.marginal(i) for i in k], abs=1e-9)
    assert found.any_cause == pytest.approx(brute.any_cause, abs=1e-9)
    chances = {(i, j): p for i, j, p in found.pairs}
    assert set(chances) == set(combinations(k, 2))
    for (i, j), chance in chances.items():
        assert chance == pytest.approx(brute.pair(i, j), abs=1e-9)
    assert found.pair_acts == pytest.approx(sum(chances.values()), abs=1e-12)


@FEW
@given(notebooks(most=3, batches=4), RATES, OUTSIDE, st.booleans(), st.data())
def test_the_outlook_is_what_the_next_row_would_leave(
    notebook: Notebook, rate: Rate, outside: float, pairs: bool, data: st.DataObject
) -> None:
    suspects, rows = notebook
    k = len(suspects)
    setting = data.draw(st.tuples(*[st.booleans()] * k))
    found = reckon(suspects, rows, rate=rate, outside=outside, pairs=pairs)
    seen = after(found, setting)
    failed, held = ([*rows, Row("next", outcome, setting)] for outcome in (True, False))
    now, bad = (Brute(suspects, r, rate, outside, pairs=pairs) for r in (rows, failed))
    assert seen.failure == pytest.approx(float(bad.whole / now.whole), abs=1e-6)
    assert seen.if_fails == pytest.approx([bad.marginal(i) for i in range(k)], abs=1e-6)
    good = reckon(suspects, held, rate=rate, outside=outside, pairs=pairs)
    assert seen.if_holds == pytest.approx(good.marginals, abs=1e-6)
    assert seen.outside_if_fails == pytest.approx(bad.outside, abs=1e-6)
    assert seen.outside_if_holds == pytest.approx(good.outside, abs=1e-6)


@FEW
@given(notebooks(most=5, batches=8), RATES, OUTSIDE, st.booleans())
def test_sums_over_subsets_give_the_gain_of_each_setting(
    notebook: Notebook, rate: Rate, outside: float, pairs: bool
) -> None:
    suspects, rows = notebook
    found = reckon(suspects, rows, rate=rate, outside=outside, pairs=pairs)
    every = gains(found)
    assert len({g.setting for g in every}) == 2 ** len(suspects) - 1
    for gain in every:
        seen = after(found, gain.setting)
        assert gain.bits == pytest.approx(seen.bits, abs=1e-9)
        assert gain.failure == pytest.approx(seen.failure, abs=1e-9)


@FEW
@given(notebooks(most=3, batches=4), RATES)
def test_the_gain_is_the_entropy_that_knowing_the_causes_would_take_away(
    notebook: Notebook, rate: Rate
) -> None:
    suspects, rows = notebook
    setting = tuple(i % 2 == 0 for i in range(len(suspects)))
    seen = after(reckon(suspects, rows, rate=rate, outside=0), setting)
    now = Brute(suspects, rows, rate, 0)
    then = Brute(suspects, [*rows, Row("next", True, setting)], rate, 0)
    known = 0.0
    for (_, _, before), (_, _, after_) in zip(now.weighed, then.weighed, strict=True):
        fails = float(after_ * then.whole / (before * now.whole))
        known += float(before) * entropy(fails)
    assert seen.bits == pytest.approx(entropy(float(then.whole / now.whole)) - known, abs=1e-6)
