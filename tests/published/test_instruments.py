"""Checks of instruments against worked examples: repeated readings, and the slope of electrodes."""

from __future__ import annotations

from decimal import Decimal
from fractions import Fraction

import pytest

from labbook.trade.balance import root_sum
from labbook.trade.instruments import nernst, repeated, slope

TEMPERATURES = (
    "96.90 98.18 98.25 98.61 99.03 99.49 99.56 99.74 99.89 100.07"
    " 100.33 100.42 100.68 100.95 101.11 101.20 101.57 101.84 102.36 102.72"
)
"""JCGM 100:2008, table 1: twenty readings in °C; written down from memory, and the printed mean and
deviation come out of them."""


def read(text: str) -> list[Decimal]:
    return [Decimal(one) for one in text.split()]


def test_the_guide_s_twenty_temperatures() -> None:
    """JCGM 100:2008, 4.4.3: mean 100.145, s = 1.489, of the mean 0.333 °C."""
    found = repeated(read(TEMPERATURES))
    assert found.count == 20
    assert round(float(found.mean), 3) == 100.145
    assert round(float(found.deviation), 3) == 1.489
    assert round(float(found.deviation) / 20**0.5, 3) == 0.333
    assert found.spread == Decimal("5.82")


@pytest.mark.parametrize(
    ("readings", "mean", "of_mean"),
    [
        ("5.007 4.994 5.005 4.990 4.999", 4.9990, 0.0032),
        ("19.663 19.639 19.640 19.685 19.678", 19.6610, 0.0095),
        ("1.0456 1.0438 1.0468 1.0428 1.0433", 1.04446, 0.00075),
    ],
)
def test_the_guide_s_five_observations(readings: str, mean: float, of_mean: float) -> None:
    """JCGM 100:2008, table H.2 (V, mA, rad): means and their deviations; from memory."""
    found = repeated(read(readings))
    assert float(found.mean) == pytest.approx(mean, abs=1e-9)
    digits = len(str(of_mean).split(".")[1])
    assert round(float(found.deviation) / 5**0.5, digits) == of_mean


def test_figures_that_rounding_ruins() -> None:
    """NIST StRD, univariate: NumAcc1 has mean 10000002 and s = 1 exactly; from memory."""
    found = repeated(read("10000001 10000003 10000002"))
    assert found.mean == 10000002
    assert found.deviation == Decimal(1)


@pytest.mark.parametrize(
    ("parts", "whole", "digits"),
    [(("5.8", "3.9", "6.7"), 9.7, 1), (("25", "9.7", "2.9", "16.6"), 32, 0)],
)
def test_the_guide_s_gauge_block(parts: tuple[str, ...], whole: float, digits: int) -> None:
    """JCGM 100:2008, H.1.3.2 and H.1.4: 9.7 nm of a difference, 32 nm of the whole; from memory."""
    assert round(float(root_sum(map(Decimal, parts))), digits) == whole


@pytest.mark.parametrize(
    ("temperature", "millivolts"), [(0, 54.20), (20, 58.17), (25, 59.16), (37, 61.54)]
)
def test_nernst_s_slope(temperature: int, millivolts: float) -> None:
    """As handbooks of pH print it (25 °C: IUPAC, Measurement of pH, 2002); from memory."""
    assert round(float(nernst(Fraction(temperature))), 2) == millivolts


def test_an_ideal_electrode_has_the_whole_slope() -> None:
    """59.16 mV at 25 °C: 177.5 mV between pH 4 and 7."""
    found = slope([(Fraction(4), Fraction("177.48")), (Fraction(7), Fraction(0))])
    assert round(float(found.percent), 1) == 100.0
    assert round(float(found.at_seven), 1) == 0.0
    assert found.steep_enough


def test_three_buffers_and_a_tired_electrode() -> None:
    """Against numpy's least squares, another reckoning."""
    import numpy

    points = [("4.01", "150.3"), ("7.00", "-8.1"), ("10.01", "-160.0")]
    found = slope([(Fraction(pH), Fraction(mV)) for pH, mV in points], Fraction(20))
    each, start = numpy.polyfit([float(pH) for pH, _ in points], [float(mV) for _, mV in points], 1)
    assert float(found.each) == pytest.approx(each)
    assert float(found.at_seven) == pytest.approx(start + 7 * each)
    assert float(found.percent) == pytest.approx(-100 * each / 58.17, abs=0.01)
    assert not found.steep_enough


def test_too_little_to_tell() -> None:
    with pytest.raises(ValueError, match="one reading"):
        repeated([Decimal(1)])
    with pytest.raises(ValueError, match="two different"):
        slope([(Fraction(7), Fraction(0)), (Fraction(7), Fraction(1))])
