"""What a log amounts to: readings that hold until the next, gaps that count in nothing."""

from datetime import UTC, datetime, timedelta

import pytest

from labbook.evidence.statistics.refusal import Refusal
from labbook.evidence.statistics.temperature import Stay, kinetic_mean, warmest
from labbook.evidence.warmth import warmth
from labbook.model.results.temperatures import LoggedTemperature, Warmth

START = datetime(2026, 1, 1, tzinfo=UTC)


def log(*celsius: float, step: float = 1.0, start: datetime = START) -> list[LoggedTemperature]:
    return [
        LoggedTemperature(start + timedelta(hours=step * n), value)
        for n, value in enumerate(celsius)
    ]


def told(readings: list[LoggedTemperature]) -> Warmth:
    found = warmth(readings, source="oven.csv")
    assert isinstance(found, Warmth)
    return found


def test_a_hot_hour_in_a_day() -> None:
    """USP <1160>'s formula gives 26.372 °C for 23 h at 25 °C and 1 h at 40 °C."""
    day = told(log(*[25.0] * 23, 40.0, 25.0))
    assert day.kinetic == pytest.approx(26.372, abs=5e-4)
    assert (day.hours, day.hours_above_30, day.maximum) == (24, 1, 40)
    assert day.maximum_at == START + timedelta(hours=23)
    assert day.warmest is None


def test_a_hot_month_is_found_in_a_year() -> None:
    readings = log(*[20.0] * 200, *[29.0] * 30, *[20.0] * 135, step=24)
    year = told(readings)
    assert year.warmest is not None
    kinetic, begun = year.warmest
    assert kinetic == pytest.approx(29)
    assert begun == START + timedelta(days=200)
    assert year.kinetic < 22


def test_a_gap_counts_in_nothing() -> None:
    """A month without readings after a hot one isn't a hot month."""
    pause = START + timedelta(days=40)
    readings = [*log(20, 20, 40), *log(20, 20, 20, start=pause)]
    found = told(readings)
    assert (found.gaps, found.hours) == (1, 4)
    assert found.hours_above_30 == 0
    assert found.gap_hours == pytest.approx(40 * 24 - 2)
    assert found.maximum == 40


def test_one_reading_has_no_mean() -> None:
    assert isinstance(warmth(log(20), source="oven.csv"), Refusal)


def test_the_warmest_stretch_is_never_cooler_than_all_of_it() -> None:
    stays = [Stay(24, t) for t in (18, 18, 19, 20, 22, 25, 28, 29, 26, 22, 20, 19)]
    whole = kinetic_mean(stays)
    assert not isinstance(whole, Refusal)
    for days in (1, 3, 7, 12):
        found = warmest(stays, days * 24)
        assert found is not None
        assert found[0] >= whole.kinetic - 1e-9
    day = warmest(stays, 24)
    assert day is not None
    assert day[0] == pytest.approx(29)
    assert day[1] == 7
    assert warmest(stays, 13 * 24) is None
