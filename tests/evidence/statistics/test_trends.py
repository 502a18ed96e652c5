"""Laws of trends, and their minima."""

from __future__ import annotations

import random
from dataclasses import replace

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from labbook.evidence.statistics.lines import Point, fit_lines, poolability
from labbook.evidence.statistics.refusal import Refusal
from labbook.evidence.statistics.trends import Pooled, Session, Trend, Watched, trend

AGES = (1.0, 7.0, 14.0, 28.0, 60.0)
SESSIONS = [Session(name=f"day {age:g}", calibrated=True) for age in AGES]


def readings(batch: str, seed: int, slope: float = -0.01, start: float = 5.4) -> list[Point]:
    draw = random.Random(f"{batch} {seed}")
    return [
        Point(batch, age, start + slope * age + draw.gauss(0, 0.03), f"day {age:g}") for age in AGES
    ]


def three(seed: int = 0, **changed: float) -> list[Point]:
    return [p for b in ("4M", "9T", "R8") for p in readings(b, seed, **changed)]


def line(found: Trend, batch: str) -> Watched:
    one = next(b for b in found.batches if b.batch == batch).line
    assert isinstance(one, Watched)
    return one


@settings(max_examples=50, deadline=None)
@given(st.integers(0, 10_000), st.randoms(use_true_random=False))
def test_the_order_of_readings_is_immaterial(seed: int, shuffle: random.Random) -> None:
    points = three(seed)
    found = trend(points, SESSIONS)
    shuffle.shuffle(points)
    assert trend(points, SESSIONS) == found


@settings(max_examples=50, deadline=None)
@given(st.integers(0, 10_000), st.sampled_from([0.5, 2.0, 30.0]), st.sampled_from([-1.0, 3.0]))
def test_scaling_time_or_shifting_values_moves_the_line_along(
    seed: int, by: float, up: float
) -> None:
    points = three(seed)
    moved = [replace(p, age=p.age * by, value=p.value + up) for p in points]
    one, two = trend(points, SESSIONS), trend(moved, SESSIONS)
    assert one.answer == two.answer
    bound, other = line(one, "9T").bound(28, "lower"), line(two, "9T").bound(28 * by, "lower")
    assert isinstance(bound, float)
    assert other == pytest.approx(bound + up, abs=1e-9)


def test_the_bound_is_one_sided_and_covers_at_its_rate() -> None:
    held = sum(
        isinstance(b := line(trend(readings("9T", i), SESSIONS), "9T").bound(28, "lower"), float)
        and b <= 5.4 - 0.28
        for i in range(1000)
    )
    assert 930 <= held <= 970  # 950 expected, with a standard error of 7


def test_one_scatter_for_batches_that_differ_is_noticed() -> None:
    """Lines of unlike slope are pooled as rarely as a test at a quarter pools them."""
    pooled = 0
    for i in range(200):
        found = trend([*three(i), *readings("K2", i, slope=-0.02)], SESSIONS)
        pooled += found.answer != "separate lines"
    assert pooled == 0
    same = sum(trend(three(i), SESSIONS).answer == "separate lines" for i in range(400))
    assert 65 <= same <= 135  # a quarter of 400, by the level of the test


# Minima ------------------------------------------------------------------------------------------


def test_four_ages_give_a_range_and_no_line() -> None:
    points = readings("9T", 0)[:4]
    (one,) = trend(points, SESSIONS).batches
    assert isinstance(one.line, Refusal)
    assert one.line.why == "4 ages in 4 calibrated sessions; a line takes at least 5 ages in 3"
    assert (one.low, one.high) == (min(p.value for p in points), max(p.value for p in points))
    assert one.readings == tuple(sorted(points, key=lambda p: p.age))


def test_five_ages_in_two_sessions_give_no_line() -> None:
    points = [replace(p, session="a" if p.age < 20 else "b") for p in readings("9T", 0)]
    sessions = [Session(name="a", calibrated=True), Session(name="b", calibrated=True)]
    one = trend(points, sessions).batches[0].line
    assert isinstance(one, Refusal)
    assert one.why.startswith("5 ages in 2 calibrated sessions")


def test_uncalibrated_sessions_stay_in_the_range_and_out_of_the_line() -> None:
    odd = Point("9T", 30.0, 9.9, "unknown")
    found = trend([*readings("9T", 0), odd], SESSIONS)
    (one,) = found.batches
    assert (one.uncalibrated, one.high, len(one.readings)) == (1, 9.9, 6)
    assert line(found, "9T") == line(trend(readings("9T", 0), SESSIONS), "9T")
    loose = [replace(s, calibrated=s.name != "day 28") for s in SESSIONS]
    assert isinstance(trend(readings("9T", 0), loose).batches[0].line, Refusal)


def test_two_batches_are_not_pooled_and_keep_their_lines() -> None:
    found = trend([*readings("4M", 0), *readings("9T", 0)], SESSIONS)
    assert isinstance(found.pooled, Refusal)
    assert "2 batches with 5 ages each" in found.pooled.why
    assert line(found, "4M").line.batch == "4M"


def test_unpooled_lines_stand_beside_a_common_one() -> None:
    found = next(t for i in range(20) if (t := trend(three(i), SESSIONS)).answer == "common line")
    assert isinstance(found.pooled, Pooled)
    assert [one.line.batch for one in found.pooled.lines] == [""]
    assert [line(found, one.batch).line.shared for one in found.batches] == [False] * 3


# Sessions ----------------------------------------------------------------------------------------


def test_an_offset_is_taken_off_all_readings_of_its_session() -> None:
    high = [replace(s, offset=0.2 if s.name == "day 14" else 0.0) for s in SESSIONS]
    raised = [replace(p, value=p.value + 0.2 * (p.age == 14)) for p in three()]
    assert line(trend(raised, high), "9T").line.slope == pytest.approx(
        line(trend(three(), SESSIONS), "9T").line.slope
    )


def test_an_unsure_calibration_widens_the_bound_and_more_readings_do_not_help() -> None:
    unsure = [replace(s, uncertainty=0.1) for s in SESSIONS]
    sure = line(trend(three(), SESSIONS), "9T").bound(60, "lower")
    wide = line(trend(three(), unsure), "9T").bound(60, "lower")
    assert isinstance(sure, float)
    assert isinstance(wide, float)
    assert wide < sure
    many = [replace(p, value=p.value + d) for p in readings("9T", 0) for d in (-0.001, 0, 0.001)]
    calibration = {s.name: 0.1 for s in unsure}
    few = fit_lines(readings("9T", 0), "separate lines", calibration=calibration)[0]
    more = fit_lines(many, "separate lines", calibration=calibration)[0]
    assert more.offset == pytest.approx(few.offset)


def test_no_scatter_below_the_last_digit_is_believed() -> None:
    flat = [replace(p, value=5.0) for p in three()]
    found = trend(flat, SESSIONS, digit=0.1)
    assert isinstance(found.pooled, Refusal)
    bound = line(found, "9T").bound(28, "lower")
    assert isinstance(bound, float)
    assert bound < 4.98
    assert isinstance(trend(flat, SESSIONS).pooled, Refusal)


# Lines that can't be -----------------------------------------------------------------------------


def test_lines_need_readings() -> None:
    with pytest.raises(ValueError, match="9T: readings at one age only"):
        fit_lines([Point("9T", 1, 5), Point("9T", 1, 6)], "common line")
    with pytest.raises(ValueError, match="as many lines as readings"):
        fit_lines([Point("9T", 1, 5), Point("9T", 2, 6)], "common line")
    with pytest.raises(ValueError, match="one batch only"):
        poolability(readings("9T", 0))


def test_a_bound_beyond_its_limit_at_once() -> None:
    one = line(trend(readings("9T", 0), SESSIONS), "9T")
    assert one.passes(6.0, "lower") == 0
    later = one.passes(5.2, "lower")
    assert isinstance(later, float)
    assert one.bound(later, "lower") == pytest.approx(5.2)
    assert isinstance(one.passes(3.0, "lower"), Refusal)
    upper = one.passes(6.5, "upper")
    assert isinstance(upper, Refusal)
    assert "the upper bound doesn't pass 6.5 within what was watched" in upper.why
