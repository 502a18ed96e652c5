"""Trends of readings against the worked example of ICH Q1E's pooling.

Of the two answers that exist for separate lines, 15.606 months with the scatter of all batches and
15.845 with the batch's own, a trend gives the second: see `labbook.evidence.statistics.trends`.
"""

import importlib
from typing import Any

import pytest

from labbook.evidence.statistics.lines import Line, Point, Side, fit_lines, poolability
from labbook.evidence.statistics.refusal import Refusal
from labbook.evidence.statistics.trends import Pooled, Session, Trend, Watched, trend
from tests.published.agreement import holds
from tests.published.studies import stability

linear_model: Any = importlib.import_module("statsmodels.regression.linear_model")
numpy: Any = importlib.import_module("numpy")

LEBLOND = (
    "LeBlond, Griffith and Aubuchon, J Valid Technol 17(3):47 (2011), as carried in "
    "piusdahinden/expirest, tests/testthat/test-expirest_osle.R (commit 6058c617)"
)
README = "piusdahinden/expirest, README, example 1"
FAR = 200.0  # months; the printed answers lie beyond the last look, where a trend gives none

COMMON = stability("potency", "b2", "b5", "b7")
INTERCEPTS = stability("potency", "b3", "b4", "b5")
SEPARATE = stability("potency", "b4", "b5", "b8")
MOISTURE = stability("moisture", "b1", "b2", "b3")


def passes(line: Line, limit: float, side: Side, level: float = 0.95) -> float:
    age = line.passes(limit, side, until=FAR, level=level)
    assert age is not None
    return age


def calibrated(points: list[Point]) -> Trend:
    """The same readings, each age in a calibrated session of its own."""
    named = [Point(p.batch, p.age, p.value, f"month {p.age:g}") for p in points]
    sessions = {p.session for p in named}
    return trend(named, [Session(name=name, calibrated=True) for name in sessions])


def test_a_common_line() -> None:
    (line,) = fit_lines(COMMON, "common line")
    assert line.count == 31
    holds(line.intercept, "100.566878981", source=f"{LEBLOND}, Table V")
    holds(line.slope, "-0.192993630573", source=f"{LEBLOND}, Table V", within=1e-10)
    holds(passes(line, 95, "lower"), "25.9958", source=f"{LEBLOND}, Table V (prints 26)")


def test_the_poolability_of_a_common_line() -> None:
    found = poolability(COMMON)
    holds(found.intercepts_f, "0.435993484727", source=f"{LEBLOND}, Table V", within=1e-10)
    holds(found.intercepts_p, "0.6514", source=f"{LEBLOND}, Table V")
    holds(found.slopes_f, "0.228684731019", source=f"{LEBLOND}, Table V", within=1e-10)
    holds(found.slopes_p, "0.797", source=f"{LEBLOND}, Table V")
    assert found.model == "common line"
    assert calibrated(COMMON).answer == "common line"


def test_separate_intercepts() -> None:
    found = poolability(INTERCEPTS)
    holds(found.intercepts_f, "21.738", source=f"{LEBLOND}, Table VII")
    holds(found.slopes_f, "0.183", source=f"{LEBLOND}, Table VII")
    assert found.model == "separate intercepts"
    lines = fit_lines(INTERCEPTS, "separate intercepts")
    assert [line.batch for line in lines] == ["b3", "b4", "b5"]
    for line, intercept in zip(lines, ("102.176", "104.255", "100.820"), strict=True):
        holds(line.slope, "-0.213121", source=f"{LEBLOND}, Table VII")
        holds(line.intercept, intercept, source=f"{LEBLOND}, Table VII")
    assert calibrated(INTERCEPTS).answer == "separate intercepts"


def test_separate_lines_that_share_their_scatter() -> None:
    assert poolability(SEPARATE).model == "separate lines"
    lines = fit_lines(SEPARATE, "separate lines", shared=True)
    ages = {line.batch: passes(line, 95, "lower") for line in lines}
    assert min(ages, key=lambda batch: ages[batch]) == "b8"
    holds(ages["b8"], "15.606", source=f"{LEBLOND}, Table IX (prints 15.6)")


def test_separate_lines_each_alone_are_the_answer_that_a_trend_gives() -> None:
    line = fit_lines(SEPARATE, "separate lines", shared=False)[-1]
    holds(
        passes(line, 95, "lower"), "15.844878", source=f"{LEBLOND}; a second program 15.844877978"
    )
    # b8 itself was read at four ages only, too few for a trend; another batch in its place.
    unlike = [Point("b9", p.age, 103 - 0.6 * p.age + (p.value - 100) / 10) for p in COMMON[-10:]]
    found = calibrated([*SEPARATE, *unlike])
    pooled = found.pooled
    assert isinstance(pooled, Pooled)
    assert (pooled.model, pooled.left_out) == ("separate lines", ("b8",))
    own = [one.line for one in found.batches if one.batch != "b8"]
    assert list(pooled.lines) == own
    assert not any(watched.line.shared for watched in pooled.lines)


def test_too_few_ages_for_a_line() -> None:
    found = calibrated(SEPARATE)
    assert found.answer is None
    assert isinstance(found.pooled, Refusal)
    line = found.batches[-1].line
    assert isinstance(line, Refusal)
    assert line.why == "4 ages in 4 calibrated sessions; a line takes at least 5 ages in 3"


def test_two_sided_limits() -> None:
    (line,) = fit_lines(MOISTURE, "common line")
    lower, upper = passes(line, 1.5, "lower", 0.975), passes(line, 3.5, "upper", 0.975)
    holds(
        min(lower, upper), "45.346", source=f"{LEBLOND}, Table XIV (prints 45.35), two-sided 95 %"
    )


def test_one_sided_upper_limit() -> None:
    (line,) = fit_lines(MOISTURE, "common line")
    holds(line.intercept, "2.456782", source=README)
    holds(line.slope, "0.0022723", source=README)
    holds(passes(line, 4.5, "upper"), "96.3055", source=README)


def test_the_level_of_pooling_is_a_quarter_and_slopes_come_first() -> None:
    # ICH Q1E (2003) B.2.2.1. Separate lines here have p 0.17 for the slopes: at 0.05 they would be
    # pooled and at 0.25 they are not.
    found = poolability(SEPARATE)
    assert 0.05 < found.slopes_p < 0.25
    assert found.model == "separate lines"
    assert poolability(SEPARATE, at=0.05).model != "separate lines"


def test_no_bound_beyond_the_last_look() -> None:
    # The printed 26 months lie beyond the last reading, in month 24: a trend doesn't give them.
    pooled = calibrated(COMMON).pooled
    assert isinstance(pooled, Pooled)
    (watched,) = pooled.lines
    assert watched.until == 24
    for answer in (watched.passes(95, "lower"), watched.bound(26, "lower")):
        assert isinstance(answer, Refusal)
        assert "within what was watched" in answer.why
    assert isinstance(watched.bound(24, "lower"), float)


@pytest.mark.parametrize("age", [0.0, 6.0, 24.0, 40.0])
def test_bounds_are_those_of_statsmodels(age: float) -> None:
    x = numpy.array([[1.0, p.age] for p in COMMON])
    theirs = linear_model.OLS(numpy.array([p.value for p in COMMON]), x).fit()
    low, high = theirs.get_prediction([[1.0, age]]).conf_int(alpha=0.1)[0]
    (line,) = fit_lines(COMMON, "common line")
    assert line.bound(age, "lower") == pytest.approx(low, rel=1e-9)
    assert line.bound(age, "upper") == pytest.approx(high, rel=1e-9)


def test_bounds_with_separate_intercepts_are_those_of_statsmodels() -> None:
    batches = ("b3", "b4", "b5")
    rows = [[*(float(p.batch == b) for b in batches), p.age] for p in INTERCEPTS]
    theirs = linear_model.OLS(numpy.array([p.value for p in INTERCEPTS]), numpy.array(rows)).fit()
    for i, line in enumerate(fit_lines(INTERCEPTS, "separate intercepts")):
        at = [[*(float(i == j) for j in range(3)), 18.0]]
        low, high = theirs.get_prediction(at).conf_int(alpha=0.1)[0]
        assert (line.bound(18, "lower"), line.bound(18, "upper")) == pytest.approx((low, high))


def test_a_sessions_common_offset_is_the_generalised_variance() -> None:
    # The variance w'Vw of the least-squares weights, with V the scatter and, in each session, a
    # constant besides; computed here from the matrices.
    points = [Point(p.batch, p.age, p.value, f"month {p.age:g}") for p in INTERCEPTS]
    calibration = dict.fromkeys({p.session for p in points}, 0.3)
    batches = ("b3", "b4", "b5")
    x = numpy.array([[*(float(p.batch == b) for b in batches), p.age] for p in points])
    weights = numpy.array([0.0, 1.0, 0.0, 18.0]) @ numpy.linalg.inv(x.T @ x) @ x.T
    same = numpy.array([[float(p.session == q.session) for q in points] for p in points])
    line = fit_lines(points, "separate intercepts", calibration=calibration)[1]
    variance = weights @ (line.scatter**2 * numpy.eye(len(points)) + 0.09 * same) @ weights
    assert line.error(18) ** 2 == pytest.approx(float(variance), rel=1e-9)


def test_watched_lines_hold_their_own_last_look() -> None:
    short = [p for p in INTERCEPTS if p.batch != "b3" or p.age <= 12]
    more = [Point("b3", 9.0, 100.0), *short]
    pooled = calibrated(more).pooled
    assert isinstance(pooled, Pooled)
    ends = {watched.line.batch: watched.until for watched in pooled.lines}
    assert ends == {"b3": 12, "b4": 24, "b5": 24}
    assert all(isinstance(watched, Watched) for watched in pooled.lines)
