"""Curves and comparisons of interval-censored outcomes against published results.

Ours is the half-open convention (L, R]: intact at L, failed at R. Libraries differ: lifelines takes
closed intervals [L, R], on which an outcome seen intact on day 7 may have failed on that day.
"""

import importlib
from math import fsum, inf, log, sqrt
from typing import Any

import pytest

from labbook.evidence.statistics.comparison import Kind, compare, scores
from labbook.evidence.statistics.distributions import normal_tails
from labbook.evidence.statistics.intervals import Interval
from labbook.evidence.statistics.likelihood import fit, problem
from labbook.evidence.statistics.turnbull import Between, Curve, kaplan_meier, turnbull
from labbook.evidence.statistics.weibull import Weibull, weibull
from tests.published.agreement import holds
from tests.published.studies import (
    COSMESIS_BOTH,
    COSMESIS_RADIOTHERAPY,
    REMISSION_6MP,
    REMISSION_PLACEBO,
    months,
    weekly,
    weeks,
)

lifelines: Any = importlib.import_module("lifelines")
numpy: Any = importlib.import_module("numpy")
survfunc: Any = importlib.import_module("statsmodels.duration.survfunc")

NAG = (
    "NAG C library, g12aac example results, "
    "support.nag.com/numeric/nl/nagdoc_27/examples/baseresults/g12aace.r.html; "
    "data Freireich 1963/Gehan 1965"
)
SURVDIFF = (
    "R survdiff run printed at "
    "rstudio-pubs-static.s3.amazonaws.com/79128_036da04b5d9e4a20b30803e3f08363fe.html"
)
FAY_SHAW = (
    "Fay and Shaw, vignette of the R package interval, section 4.1-4.2, GitHub cran/interval "
    "inst/doc/intervalCensoring.pdf; data Finkelstein and Wolfe, Biometrics 41:933 (1985)"
)
SIX_MP, PLACEBO = weekly(REMISSION_6MP), weekly(REMISSION_PLACEBO)
ALONE, BOTH = months(COSMESIS_RADIOTHERAPY), months(COSMESIS_BOTH)


def every_week(outcomes: list[Interval]) -> list[range]:
    return [range(1, 36)] * len(outcomes)


def curve(outcomes: list[Interval]) -> Curve:
    found = turnbull(outcomes)
    assert isinstance(found, Curve)
    return found


# Remission: all had the same looks ---------------------------------------------------------------


@pytest.mark.parametrize(
    ("week", "intact", "error"),
    [
        (6, "0.857", "0.076"),
        (7, "0.807", "0.087"),
        (13, "0.690", "0.107"),
        (16, "0.627", "0.114"),
        (23, "0.448", "0.135"),
    ],
)
def test_remission_as_the_special_case_of_equal_looks(week: int, intact: str, error: str) -> None:
    steps = kaplan_meier(SIX_MP, every_week(SIX_MP))
    assert isinstance(steps, tuple)
    step = next(one for one in steps if one.age == week)
    holds(step.intact, intact, source=NAG)
    holds(step.error, error, source=NAG)
    # The general curve on the same looks is the same, with its two bounds between two looks.
    between = curve(SIX_MP).intact(week)
    assert isinstance(between, Between)
    assert between.low == pytest.approx(step.intact, abs=1e-4) == between.high
    earlier = curve(SIX_MP).intact(week - 0.5)
    assert isinstance(earlier, Between)
    assert earlier.low < earlier.high


def test_a_curve_that_takes_the_censored_out_a_week_early_is_noticed() -> None:
    slip = [one if one.failed else Interval(one.low - 1, None) for one in SIX_MP]
    steps = kaplan_meier(slip, every_week(slip))
    assert isinstance(steps, tuple)
    with pytest.raises(AssertionError):
        holds(steps[0].intact, "0.857", source=NAG)


def test_the_medians() -> None:
    # lifelines 0.30.3, KaplanMeierFitter on its data set load_leukemia: 23 and 8 weeks.
    for outcomes, median in ((SIX_MP, 23), (PLACEBO, 8)):
        steps = kaplan_meier(outcomes, every_week(outcomes))
        assert isinstance(steps, tuple)
        assert next(step.age for step in steps if step.intact <= 0.5) == median


def test_events_and_exposure() -> None:
    # grodri.github.io/survival/gehan: 30 events (9 and 21) in 541 weeks.
    printed = weeks(REMISSION_6MP) + weeks(REMISSION_PLACEBO)
    assert sum(week for week, _ in printed) == 541
    found = compare(SIX_MP, PLACEBO)
    assert (found.first.failed, found.second.failed) == (9, 21)


def test_the_summed_score_is_what_the_log_rank_test_sums() -> None:
    # Observed less expected; expected 19.25 and 10.75. The score sums to -10.25 and 10.25.
    found = compare(SIX_MP, PLACEBO)
    holds(9 - found.score, "19.25", source=SURVDIFF)
    holds(21 + found.score, "10.75", source=SURVDIFF)
    # Its chi-square of 16.79 takes the hypergeometric variance, ours the permutation's; both are
    # far beyond chance.
    assert found.p is not None
    assert found.p < 0.001


def test_steps_are_those_of_lifelines_and_statsmodels() -> None:
    printed = weeks(REMISSION_6MP)
    ages, ended = [week for week, _ in printed], [end for _, end in printed]
    theirs = lifelines.KaplanMeierFitter().fit(ages, ended).survival_function_.iloc[:, 0]
    other = survfunc.SurvfuncRight(numpy.array(ages), numpy.array(ended, dtype=int))
    steps = kaplan_meier(SIX_MP, every_week(SIX_MP))
    assert isinstance(steps, tuple)
    for step, age, intact, error in zip(
        steps, other.surv_times, other.surv_prob, other.surv_prob_se, strict=True
    ):
        assert (step.age, step.intact, step.error) == pytest.approx((age, intact, error), rel=1e-9)
        assert step.intact == pytest.approx(theirs[step.age], rel=1e-9)


# Breast cosmesis: looks differ -------------------------------------------------------------------

PRINTED = [
    (4, 5, ".0463"),
    (6, 7, ".0334"),
    (7, 8, ".0887"),
    (11, 12, ".0708"),
    (24, 25, ".0926"),
    (33, 34, ".0818"),
    (38, 40, ".1209"),
    (46, 48, ".4656"),
]


def test_the_published_masses_on_the_half_open_convention() -> None:
    stretches = curve(ALONE).stretches
    assert [(s.start, s.end) for s in stretches] == [(low, high) for low, high, _ in PRINTED]
    for stretch, (_, _, mass) in zip(stretches, PRINTED, strict=True):
        holds(stretch.mass, mass, source=FAY_SHAW)


def test_the_greatest_log_likelihood() -> None:
    # Recomputed from the published masses by an independent self-consistency loop.
    holds(curve(ALONE).log_likelihood, "-58.060", source="recomputed", within=0.001)


def test_the_closed_convention_gives_another_answer() -> None:
    # Recomputed by an independent loop on [L, R]: masses at 5, 7, 11, 25, 34, 37, 40, (46, 48].
    # A closed interval is a half-open one that begins a hair earlier.
    hair = 1e-6
    closed = [Interval(max(one.low - hair, 0), one.high) for one in ALONE]
    for stretch, (age, mass) in zip(
        curve(closed).stretches,
        [
            (5, ".0493"),
            (7, ".1026"),
            (11, ".0873"),
            (25, ".1072"),
            (34, ".0548"),
            (37, ".0917"),
            (40, ".0472"),
            (48, ".4600"),
        ],
        strict=True,
    ):
        assert stretch.end == age
        holds(stretch.mass, mass, source="recomputed on closed intervals")


def test_lifelines_takes_closed_intervals_and_so_misses_the_published_table() -> None:
    low = numpy.array([one.low for one in ALONE])
    high = numpy.array([inf if one.high is None else one.high for one in ALONE])
    theirs = lifelines.KaplanMeierFitter().fit_interval_censoring(low, high)
    at = theirs.survival_function_.iloc[:, 0]
    # lifelines 0.30.3: S(46) about 0.4595, S(6) 0.9507; ours 0.4656 and 0.9537.
    holds(at[46.0], "0.4595", source="lifelines 0.30.3", within=0.001)
    here, early = curve(ALONE).intact(46), curve(ALONE).intact(6)
    assert isinstance(here, Between)
    assert isinstance(early, Between)
    holds(here.low, "0.4656", source=FAY_SHAW)
    holds(early.low, "0.9537", source=FAY_SHAW)


@pytest.mark.parametrize(
    ("kind", "score", "z", "p"),
    [
        ("log-rank", "9.141846", "-2.6684", "0.007622"),
        ("proportional hazards", "9.944182", "-2.6839", "0.007277"),
        ("wilcoxon", None, "-2.1672", "0.03022"),
    ],
)
def test_the_published_score_tests(kind: Kind, score: str | None, z: str, p: str) -> None:
    # Printed for chemotherapy as well against radiotherapy alone, with the limiting normal form of
    # the permutation test; its sign is that of the group that failed less.
    every = scores([*ALONE, *BOTH], kind)
    of_alone = fsum(every[: len(ALONE)])
    if score is not None:
        holds(-of_alone, score, source=FAY_SHAW, within=2e-6)
    n = len(every)
    mean = fsum(every) / n
    spread = fsum((one - mean) ** 2 for one in every) / (n - 1) * len(ALONE) * len(BOTH) / n
    holds(of_alone / sqrt(spread), z, source=FAY_SHAW)
    holds(normal_tails(of_alone / sqrt(spread)), p, source=FAY_SHAW)


def test_the_permuted_p_is_near_its_limiting_form() -> None:
    found = compare(BOTH, ALONE)
    assert found.p is not None
    assert not found.exact
    # 10,000 draws leave a standard error of 0.0009 about the printed 0.007622.
    holds(found.p, "0.0076", source=FAY_SHAW, within=0.003, wide="draws scatter")


# Weibull -----------------------------------------------------------------------------------------


@pytest.mark.parametrize("outcomes", [ALONE, BOTH], ids=["alone", "both"])
def test_the_weibull_curve_is_that_of_lifelines(outcomes: list[Interval]) -> None:
    # A smooth curve gives single ages no mass, so closed and half-open intervals agree here.
    found = weibull(outcomes)
    assert isinstance(found, Weibull)
    low = numpy.array([max(one.low, 1e-12) for one in outcomes])
    high = numpy.array([inf if one.high is None else one.high for one in outcomes])
    theirs = lifelines.WeibullFitter().fit_interval_censoring(low, high)
    assert found.shape == pytest.approx(theirs.rho_, rel=1e-4)
    assert found.scale == pytest.approx(theirs.lambda_, rel=1e-4)
    assert found.log_likelihood == pytest.approx(theirs.log_likelihood_, abs=1e-6)
    errors = theirs.summary["se(coef)"]
    assert found.shape_error * found.shape == pytest.approx(errors["rho_"], rel=1e-2)
    assert found.scale_error * found.scale == pytest.approx(errors["lambda_"], rel=1e-2)


def test_no_curve_of_fewer_steps_is_as_probable() -> None:
    # The likelihood of the general curve can't be below that of any smooth one.
    for outcomes in (ALONE, BOTH):
        found = weibull(outcomes)
        assert isinstance(found, Weibull)
        assert found.log_likelihood < curve(outcomes).log_likelihood
        even = fit(problem(outcomes))
        assert even.log_likelihood == curve(outcomes).log_likelihood
        assert even.gap < 1e-8
        assert even.log_likelihood > -len(outcomes) * log(len(outcomes))
