"""Warmth and a chemical reading: an energy from three temperatures, and nothing below that."""

from datetime import date, timedelta
from decimal import Decimal
from math import exp

import pytest

from labbook.evidence.following import reading_trend
from labbook.evidence.speeding import speeding
from labbook.evidence.statistics.temperature import GAS_CONSTANT
from labbook.model.results.trends import ReadingPoint
from tests.evidence.watched import FORMULA

AGES = (1, 14, 28, 60, 90)


def rate(celsius: float, energy: float) -> float:
    """Of a pH that falls by a thousandth a day at 25 °C."""
    return -0.001 * exp(energy / GAS_CONSTANT * (1 / 298.15 - 1 / (celsius + 273.15)))


def read(condition: str, slope: float, reading: str = "pH") -> list[ReadingPoint]:
    return [
        ReadingPoint(
            batch="HC-260122-9T", short="9T", jar="1", condition=condition, age=age,
            day=date(2026, 1, 22) + timedelta(days=age), unit="",
            value=Decimal(round(5 + slope * age, 5)).quantize(Decimal("0.00001")),
        )
        for age in AGES
    ]  # fmt: skip


@pytest.mark.parametrize("energy", [50, 83.144, 120])
def test_a_known_energy_is_found_again(energy: float) -> None:
    points = [p for t in (25, 40, 50) for p in read(f"{t} °C", rate(t, energy))]
    told = speeding("pH", "oil-in-water", points)
    assert (
        f"faster by {energy:.0f} kJ/mol (Arrhenius, lines at 3 temperatures, 25 to 50 °C)" in told
    )
    assert "no day in one stands for days in another" in told


def test_nothing_below_three_temperatures_or_of_what_is_no_reaction() -> None:
    two = [p for t in (25, 40) for p in read(f"{t} °C", rate(t, 80))]
    assert speeding("pH", "oil-in-water", [*two, *read("room", rate(20, 80))]) == ""
    three = [*two, *read("50 °C", rate(50, 80))]
    assert speeding("spread", "oil-in-water", three) == ""
    assert speeding("pH", "water-in-oil", three) == ""  # the electrode meets oil


def test_what_rises_here_and_falls_there_is_not_reckoned() -> None:
    points = [
        p for t, slope in ((25, -0.001), (40, -0.002), (50, 0.003)) for p in read(f"{t} °C", slope)
    ]
    assert "goes different ways" in speeding("pH", "oil-in-water", points)


def test_a_trend_says_it() -> None:
    points = [("pH", p) for t in (25, 40, 50) for p in read(f"{t} °C", rate(t, 80))]
    found = reading_trend(FORMULA, points, date(2026, 6, 1), reading="pH")
    assert any("80 kJ/mol" in said for said in found.said)
