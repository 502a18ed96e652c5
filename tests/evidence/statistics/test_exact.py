"""Laws of the exact bounds, and their words."""

from __future__ import annotations

from math import comb

import pytest
from hypothesis import given
from hypothesis import strategies as st

from labbook.evidence.statistics.exact import at_most_share, least_share, none_of, share

COUNTS = st.integers(1, 60).flatmap(lambda of: st.tuples(st.integers(0, of), st.just(of)))


@given(COUNTS)
def test_the_bounds_hold_what_was_seen_and_are_each_others_mirror(counts: tuple[int, int]) -> None:
    failed, of = counts
    found = share(failed, of)
    assert found.low <= found.seen <= found.high
    assert at_most_share(failed, of) == pytest.approx(1 - least_share(of - failed, of), abs=1e-12)


@given(COUNTS, st.integers(1, 20))
def test_more_intact_ones_never_widen(counts: tuple[int, int], more: int) -> None:
    failed, of = counts
    assert at_most_share(failed, of + more) <= at_most_share(failed, of) + 1e-12
    before, after = share(failed, of), share(failed, of + more)
    assert after.high <= before.high + 1e-12


@given(st.integers(1, 25), st.floats(0.01, 0.99))
def test_the_upper_bound_covers_at_least_as_often_as_it_says(of: int, true: float) -> None:
    covers = sum(
        comb(of, k) * true**k * (1 - true) ** (of - k)
        for k in range(of + 1)
        if at_most_share(k, of) >= true
    )
    assert covers >= 0.95 - 1e-9


@pytest.mark.parametrize(
    ("of", "unit", "words"),
    [
        (1, "jars", "0 of 1 jar: the true share may still be up to 95 %"),
        (3, "batches", "0 of 3 batches: the true share may still be up to 63 %"),
        (20, "jars", "0 of 20 jars: the true share may still be up to 14 %"),
        (59, "jars", "0 of 59 jars: the true share may still be up to 5.0 %"),
        (300, "batches", "0 of 300 batches: the true share may still be up to 1.0 %"),
    ],
)
def test_none_of_so_many_in_words(of: int, unit: str, words: str) -> None:
    assert none_of(of, unit) == words


def test_counts_that_cannot_be() -> None:
    for failed, of in ((4, 3), (-1, 3), (0, 0)):
        with pytest.raises(ValueError, match="the count lies between"):
            at_most_share(failed, of)
    with pytest.raises(ValueError, match="level"):
        least_share(1, 3, level=1.0)
