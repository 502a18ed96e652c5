"""Laws of the kinetic mean, and what nothing can be said of."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from labbook.evidence.statistics.centrifuge import relative_g, speed_for, spin
from labbook.evidence.statistics.creaming import stokes
from labbook.evidence.statistics.refusal import Refusal
from labbook.evidence.statistics.temperature import (
    KineticMean,
    Stay,
    activation_energy,
    kinetic_mean,
)

STAYS = st.lists(st.builds(Stay, st.floats(0.1, 1000), st.floats(-25, 60)), min_size=1, max_size=10)


@given(STAYS)
def test_the_kinetic_mean_lies_between_the_plain_mean_and_the_hottest(stays: list[Stay]) -> None:
    found = kinetic_mean(stays)
    assert isinstance(found, KineticMean)
    assert found.mean - 1e-6 <= found.kinetic <= found.maximum + 1e-6
    assert 0 <= found.hours_above_30 <= found.hours


@given(STAYS)
def test_neither_order_nor_cutting_a_stay_in_two_matters(stays: list[Stay]) -> None:
    halves = [Stay(stay.hours / 2, stay.temperature) for stay in reversed(stays) for _ in "ab"]
    one, two = kinetic_mean(stays), kinetic_mean(halves)
    assert isinstance(one, KineticMean)
    assert isinstance(two, KineticMean)
    assert two.kinetic == pytest.approx(one.kinetic, abs=1e-9)


def test_thirty_degrees_is_not_above_thirty() -> None:
    found = kinetic_mean([Stay(5, 30.0), Stay(2, 30.5)])
    assert isinstance(found, KineticMean)
    assert found.hours_above_30 == 2


def test_what_nothing_can_be_said_of() -> None:
    assert isinstance(kinetic_mean([]), Refusal)
    with pytest.raises(ValueError, match="can't have been"):
        kinetic_mean([Stay(0, 20)])
    with pytest.raises(ValueError, match="logarithm"):
        activation_energy([(20, 0.0), (30, 1.0), (40, 2.0)])
    with pytest.raises(ValueError, match="one temperature"):
        activation_energy([(20, 1.0), (20, 2.0)])
    with pytest.raises(ValueError, match="above 0"):
        stokes(0, 900, 1000, 1e-3)
    with pytest.raises(ValueError, match="minutes above 0"):
        spin(3000, 0, radius_cm=10)


@given(st.floats(1, 30), st.floats(100, 20_000))
def test_speed_and_g_are_each_others_inverse(radius: float, rpm: float) -> None:
    assert speed_for(relative_g(radius, rpm), radius) == pytest.approx(rpm)
    assert relative_g(radius, 2 * rpm) == pytest.approx(4 * relative_g(radius, rpm))
