"""Readings compared like with like: the same way, at like temperature, rest and age."""

from dataclasses import replace
from datetime import date, timedelta
from decimal import Decimal
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from labbook.evidence.reading_lines import lines_of
from labbook.evidence.readings import alike, like_age, points_of, rows_of, series_of
from labbook.model.batch import Reading, Tools
from labbook.model.materials import Calibration, Equipment
from labbook.model.quantities import parse_quantity as q
from labbook.model.results.trends import ReadingPoint
from tests.evidence.watched import FILLED, a_batch, correction, day, seen, standing, written


def point(age: float, value: str, **more: Any) -> ReadingPoint:
    usual: dict[str, Any] = {
        "batch": "HC-260122-9T", "short": "9T", "jar": "1", "condition": "room", "age": age,
        "day": date(2026, 1, 22) + timedelta(days=int(age)), "value": Decimal(value), "unit": "mm",
        "by": "200 g, 60 s", "at": q("20 °C"), "rest": q("24 h"),
    }  # fmt: skip
    return ReadingPoint(**(usual | more))


def apart(reading: str, *points: ReadingPoint, emulsion: str = "oil-in-water") -> list[str]:
    like, others, _ = alike(reading, points, emulsion=emulsion)
    assert len(like) + len(others) == len(points)
    return [one.why for one in others]


BASE = [point(1, "41"), point(7, "42"), point(28, "43")]


@pytest.mark.parametrize(
    ("change", "why"),
    [
        ({}, ""),
        ({"at": q("22 °C")}, ""),  # two degrees are alike
        ({"at": q("23 °C")}, "at 23 °C, the others at 20 °C"),
        ({"at": q("72 °F")}, "at 72 °F, the others at 20 °C"),  # 22.2 °C
        ({"at": q("71 °F")}, ""),  # 21.7 °C
        ({"at": None}, "its temperature is not written down"),
        ({"rest": q("28 h")}, ""),  # within a fifth
        ({"rest": q("1 d")}, ""),
        ({"rest": q("31 h")}, "after 31 h, the others after 24 h"),
        ({"rest": None}, "its rest is not written down"),
        ({"by": "200 g 60 s"}, ""),
        ({"by": "100 g, 60 s"}, "by 100 g, 60 s, the others by 200 g, 60 s"),
        ({"by": ""}, "how it was taken is not written down"),
        ({"unit": "cm"}, "in cm, the others in mm"),
    ],
)
def test_a_spread_is_compared_with_like_ones_only(change: dict[str, Any], why: str) -> None:
    assert apart("spread", *BASE, replace(point(60, "44"), **change)) == ([why] if why else [])


def test_what_nobody_wrote_down_is_compared_and_said() -> None:
    bare = [replace(one, at=None, rest=None) for one in BASE]
    like, others, silent = alike("spread", bare)
    assert (len(like), others, silent) == (3, (), ("its temperature", "its rest"))
    assert alike("weight", bare)[2] == ()  # a weight does not hang on either


def test_a_feel_score_hangs_on_the_way_of_rubbing_alone() -> None:
    way = "a pea, 20 circles"
    scores = [point(n, "3", unit="of 5", by=way, at=None, rest=None) for n in (1, 7)]
    other = replace(scores[0], by="a pea, until dry", age=14)
    assert apart("feel drag", *scores, other) == [f"by a pea, until dry, the others by {way}"]


def test_ph_of_another_medium_is_no_first_point_and_of_water_in_oil_none_at_all() -> None:
    made = point(0, "4.8", unit="", jar="", of="water phase", condition="making")
    of_jars = [point(n, "4.9", unit="") for n in (1, 7)]
    assert apart("pH", made, *of_jars) == ["of the water phase, not of the finished one"]
    told = "the electrode meets oil in a water-in-oil cream"
    assert apart("pH", *of_jars, emulsion="water-in-oil") == [told, told]


@pytest.mark.parametrize(
    ("one", "other", "alike_"),
    [(7, 8, True), (7, 9, False), (28, 33, True), (28, 36, False), (0, 0, True), (0, 1, False)],
)
def test_ages_are_alike_within_a_fifth(one: float, other: float, alike_: bool) -> None:
    assert like_age(point(one, "1"), point(other, "1")) is alike_
    assert like_age(point(other, "1"), point(one, "1")) is alike_


def test_the_same_planned_point_is_a_like_age() -> None:
    assert like_age(point(7, "1", planned=7.0), point(12, "1", planned=7.0))


def test_rows_hold_each_reading_once() -> None:
    two = [replace(p, jar="2", value=p.value + 1, age=p.age + 1) for p in BASE]
    series = series_of([*BASE, *two], by_batch=False)
    assert [one.name for one in series] == ["9T.1", "9T.2"]
    rows = [(row.age, [str(v) for v in row.values]) for row in rows_of(series)]
    assert rows == [
        (1, ["41", "None"]), (2, ["None", "42"]), (7, ["42", "43"]), (28, ["43", "44"]),
    ]  # fmt: skip
    assert [one.name for one in series_of([*BASE, *two], by_batch=True)] == ["9T"]


AGES = st.lists(st.integers(0, 400), max_size=12)


@given(AGES, AGES)
def test_no_reading_is_lost_in_the_rows(one: list[int], other: list[int]) -> None:
    points = [point(age, f"{age}") for age in one]
    points += [point(age, f"{age}", jar="2") for age in other]
    rows = rows_of(series_of(points, by_batch=False))
    values = sorted(v for row in rows for v in row.values if v is not None)
    assert values == sorted(p.value for p in points)


# From the files ----------------------------------------------------------------------------------

CHECK = Calibration(id="k1", date=FILLED.date(), what="two buffers", spread=q("0.02 g"))
METER = Equipment(id="meter", kind="pH meter", calibrations=(CHECK,))


def test_looks_and_the_making_are_collected_as_corrected() -> None:
    made = Reading(id="r1", reading="pH", value=Decimal("4.8"), of="water phase", time=FILLED)
    gone = replace(made, id="r2", struck="wrong jar")
    batch = a_batch(readings=(made, gone), tools=Tools(meter="meter"))
    looks = written(
        [
            seen(1, reading="pH", value=Decimal("4.9"), at=q("20 °C"), planned=q("1 d"), id="o1"),
            seen(28, reading="pH", value=Decimal("5.9"), id="o2"),
            seen(30, reading="pH", value=Decimal("9"), struck="wrong jar", id="o3"),
        ],
        correction("o2", "value", "5.1"),
    )
    found = points_of(batch, standing("room"), looks, {"meter": METER})
    told = [(p.jar, p.age, str(p.value), p.calibrated, p.uncertainty) for _, p in found]
    assert told == [
        ("1", 1, "4.9", True, 0.02), ("1", 28, "5.1", False, 0.0),
        ("", pytest.approx(1 / 24, abs=1e-3), "4.8", True, 0.02),
    ]  # fmt: skip


def test_a_ruler_needs_no_calibration_and_a_meter_that_nobody_checked_has_none() -> None:
    look = written([seen(1, reading="spread", value=Decimal(41), by="200 g, 60 s")])
    ((name, one),) = points_of(a_batch(), standing("room"), look, {})
    assert (name, one.calibrated, one.by) == ("spread", True, "200 g, 60 s")
    acid = written([seen(1, reading="pH", value=Decimal(5))])
    assert not points_of(a_batch(), standing("room"), acid, {})[0][1].calibrated


# What they carry ---------------------------------------------------------------------------------


def in_row(*ages: int, **more: Any) -> list[ReadingPoint]:
    return [point(age, f"{40 + age / 10 + (age % 3) / 10:.1f}", **more) for age in ages]


def test_below_five_ages_in_three_calibrated_sessions_there_is_no_line() -> None:
    few = series_of(in_row(1, 7, 14, 28), by_batch=False)
    assert lines_of("spread", few, "mm") == (
        (),
        ("No line: that takes 5 ages in 3 calibrated sessions. So far 9T 4 ages in 4.",),
    )
    unchecked = series_of(in_row(1, 7, 14, 28, 60, calibrated=False), by_batch=False)
    assert lines_of("pH", unchecked, "")[0] == ()


def test_from_five_ages_on_there_is_a_line_that_ends_at_the_last_look() -> None:
    """About 0.1 mm a day."""
    lines, said = lines_of("spread", series_of(in_row(1, 7, 14, 28, 60), by_batch=False), "mm")
    (line,) = lines
    assert (line.batch, line.until) == ("9T", 60)
    assert line.points[0][0] == 0
    assert line.points[-1][0] == 60
    assert line.slope == pytest.approx(0.1, abs=0.01)
    assert all(low < middle < high for _, middle, low, high in line.points)
    assert said[0].startswith(
        "9T: +2.9 mm in 30 days. On day 60, the last look, its mean is at least"
    )


def test_scores_get_no_line_however_many_there_are() -> None:
    many = series_of(in_row(1, 7, 14, 28, 60, 90), by_batch=False)
    lines, said = lines_of("feel drag", many, "of 5")
    assert lines == ()
    assert said == ("Scores are ranks: their range is told, and no line is drawn.",)


def test_three_batches_say_what_they_share() -> None:
    points = [
        replace(p, short=short, batch=short, value=p.value + Decimal(k * n % 3) / 10)
        for k, short in enumerate(("1A", "2B", "3C"))
        for n, p in enumerate(in_row(1, 7, 14, 28, 60))
    ]
    lines, said = lines_of("spread", series_of(points, by_batch=True), "mm")
    assert len(lines) in (1, 3)
    assert any("told apart below 0.25" in one for one in said)
    assert day(0) == FILLED
