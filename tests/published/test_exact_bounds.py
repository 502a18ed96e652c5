"""Exact bounds for a share against printed tables and against other libraries."""

import importlib
from typing import Any

import pytest

from labbook.evidence.statistics.distributions import (
    chi_square_quantile,
    f_tail,
    student_quantile,
)
from labbook.evidence.statistics.exact import at_most_share, least_share, none_of, share
from tests.published.agreement import holds

stats: Any = importlib.import_module("scipy.stats")  # it ships no types
proportion: Any = importlib.import_module("statsmodels.stats.proportion")

NEWCOMBE = "Newcombe, Stat Med 17:857 (1998), Table I, method 5, Clopper-Pearson; from memory"


@pytest.mark.parametrize(
    ("failed", "of", "low", "high"),
    [
        (81, 263, "0.2527", "0.3676"),
        (15, 148, "0.0578", "0.1617"),
        (0, 20, "0.0000", "0.1684"),
        (1, 29, "0.0009", "0.1776"),
    ],
)
def test_the_printed_two_sided_bounds(failed: int, of: int, low: str, high: str) -> None:
    found = share(failed, of)
    holds(found.low, low, source=NEWCOMBE)
    holds(found.high, high, source=NEWCOMBE)


@pytest.mark.parametrize(
    ("of", "printed"),
    # Tables of zero failures in n trials (success-run theorem, 1 - 0.05 ** (1/n)), from memory:
    # 59 without a failure show 95 % reliability at 95 % confidence, 22 about 87 %, 3 about 37 %.
    [(3, "0.632"), (22, "0.127"), (59, "0.0495"), (299, "0.00997")],
)
def test_none_of_so_many(of: int, printed: str) -> None:
    holds(at_most_share(0, of), printed, source="success-run theorem; from memory")


def test_none_of_three_jars_in_words() -> None:
    assert none_of(3, "jars") == "0 of 3 jars: the true share may still be up to 63 %"
    assert none_of(1, "batches") == "0 of 1 batch: the true share may still be up to 95 %"


@pytest.mark.parametrize("of", [1, 2, 5, 29, 300, 5000])
@pytest.mark.parametrize("level", [0.9, 0.95, 0.975])
def test_every_bound_is_that_of_scipy(of: int, level: float) -> None:
    for failed in sorted({0, 1, of // 3, of - 1, of}):
        exact = stats.binomtest(failed, of, alternative="less").proportion_ci(level, "exact")
        assert at_most_share(failed, of, level=level) == pytest.approx(exact.high, rel=1e-9)
        exact = stats.binomtest(failed, of, alternative="greater").proportion_ci(level, "exact")
        assert least_share(failed, of, level=level) == pytest.approx(exact.low, rel=1e-9)


@pytest.mark.parametrize(("failed", "of"), [(0, 5), (1, 7), (6, 7), (40, 300)])
def test_the_two_sided_bounds_are_those_of_statsmodels(failed: int, of: int) -> None:
    # Its name for Clopper and Pearson's bounds is "beta".
    low, high = proportion.proportion_confint(failed, of, 0.05, "beta")
    found = share(failed, of)
    assert (found.low, found.high) == pytest.approx((low, high), rel=1e-9)


@pytest.mark.parametrize(
    ("df", "printed"),
    # Tables of Student's t, one-sided 95 %, from memory.
    [(1, "6.314"), (3, "2.353"), (10, "1.812"), (29, "1.699"), (120, "1.658")],
)
def test_students_t_table(df: int, printed: str) -> None:
    holds(student_quantile(0.95, df), printed, source="tables of Student's t; from memory")


@pytest.mark.parametrize("df", [1, 2, 3, 17, 29, 400])
def test_quantiles_and_tails_are_those_of_scipy(df: int) -> None:
    for level in (0.025, 0.5, 0.9, 0.95, 0.975, 0.999):
        assert student_quantile(level, df) == pytest.approx(
            stats.t.ppf(level, df), rel=1e-9, abs=1e-12
        )
    for f in (0.0, 0.05, 0.4, 1.0, 3.5, 40.0):
        assert f_tail(f, 2, df) == pytest.approx(stats.f.sf(f, 2, df), rel=1e-9)
        assert f_tail(f, 5, df) == pytest.approx(stats.f.sf(f, 5, df), rel=1e-9)
    assert chi_square_quantile(0.95) == pytest.approx(stats.chi2.ppf(0.95, 1), rel=1e-9)
