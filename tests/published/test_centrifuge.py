"""Centrifuge, creaming and temperatures against published figures.

Deliberately without a counterpart: "3750 rpm at 10 cm for 5 hours is a year". No source was found
for it, it gives 0.9 of a year by its own arithmetic, and spinning sorts droplets as standing does
not (application paper 2005, ja.scribd.com/document/320352032); no storage time is offered.
"""

from math import pi

import pytest

from labbook.evidence.statistics.centrifuge import (
    PER_CM_AND_RPM_SQUARED,
    Spin,
    relative_g,
    speed_for,
    spin,
)
from labbook.evidence.statistics.creaming import (
    STANDARD_GRAVITY,
    Creaming,
    creaming_speed,
    stokes,
)
from labbook.evidence.statistics.refusal import Refusal
from labbook.evidence.statistics.temperature import (
    HEAT_OVER_R,
    Arrhenius,
    KineticMean,
    Stay,
    activation_energy,
    arrhenius,
    kinetic_mean,
)
from tests.published.agreement import agrees, holds, refused

MCCLEMENTS = "McClements, Food Emulsions, Eq. 7.9 text; barnardhealth.us/food-emulsions/n1.html"
FLUIDS = "fluids 1.3.1, v_terminal"
BIO_EQ = "bio-eq.com/about/detail/id/39.html"
UONBI = "indextestingapp.uonbi.ac.ke/preguntia/17052583"
USP_1160 = "USP 29 <1160>; uspbpep.com/usp29/v29240/usp29nf24s0_c1160.html"
ZERO = 273.15


# g -----------------------------------------------------------------------------------------------


def test_the_published_constant_is_the_derived_one_rounded() -> None:
    derived = (2 * pi / 60) ** 2 / 100 / STANDARD_GRAVITY
    holds(derived * 1e5, "1.118244", source="derived from standard gravity")
    holds(PER_CM_AND_RPM_SQUARED * 1e5, "1.118", source=BIO_EQ)
    assert float(f"{derived:.3e}") == PER_CM_AND_RPM_SQUARED


def test_g_at_10_cm_and_3000_rpm() -> None:
    holds(relative_g(10, 3000), "1006.2", source=BIO_EQ)
    holds(relative_g(10, 3000), "1006.38", "0.2")  # UONBI, exact form with g = 9.807
    refused(lambda: relative_g(20, 3000), "1006.38", "0.2")  # the diameter for the radius


def test_g_of_the_trade_rule_without_its_year() -> None:
    # From memory: Becher, Emulsions: Theory and Practice (2nd ed. 1965); not found.
    holds(relative_g(10, 3750), "1572", source="from memory")
    found = spin(3750, 300, radius_cm=10, temperature=25, layer=0.0)
    assert isinstance(found, Spin)
    assert not [name for name in Spin.__slots__ if "day" in name or "year" in name]


def test_speed_for_1000_g() -> None:
    holds(speed_for(1000, 10), "2990.7", source=BIO_EQ)
    assert relative_g(10, speed_for(1000, 10)) == pytest.approx(1000)


def test_no_g_without_a_radius() -> None:
    assert isinstance(spin(3000, 30, radius_cm=None), Refusal)
    with pytest.raises(ValueError, match="above 0"):
        relative_g(0, 3000)


# Stokes ------------------------------------------------------------------------------------------


def test_oil_droplets_in_water() -> None:
    found = creaming_speed(1e-6, 910, 1000, 1e-3, share=0.01, newtonian=True)
    assert isinstance(found, Creaming)
    # Printed with g = 9.81.
    holds(found.speed * 1e7, "1.962", source=MCCLEMENTS, within=0.001)
    holds(found.mm_per_day, "16.95", "0.02")
    refused(
        lambda: stokes(0.5e-6, 910, 1000, 1e-3) * 86_400_000, "16.95", "0.02"
    )  # the diameter for the radius gives 4.24


def test_the_same_speed_as_another_library() -> None:
    # It counts falling as positive: -1.96133e-7 m/s rises.
    holds(stokes(1e-6, 910, 1000, 1e-3) * 1e7, "1.96133", source=FLUIDS)
    holds(stokes(0.5e-6, 910, 1000, 1e-3) * 86_400_000, "4.24", source=MCCLEMENTS, within=0.005)


def test_a_droplet_too_fast_for_stokes_is_refused() -> None:
    # fluids 1.3.1: D 70 µm, 2600 in 1000 kg/m³, 1 mPa·s falls 0.0041425 m/s; Stokes says 0.0042713.
    speed = -stokes(35e-6, 2600, 1000, 1e-3)
    holds(speed, "0.0042713", source=FLUIDS)
    assert not agrees(speed, "0.004142497", 0.0001)
    found = creaming_speed(35e-6, 2600, 1000, 1e-3, share=0.001, newtonian=True)
    assert isinstance(found, Refusal)
    assert "Reynolds" in found.why


@pytest.mark.parametrize(
    ("share", "newtonian", "word"),
    [
        (0.02, True, "2 %"),  # Richardson and Zaki 1954, from memory: at 0.20 a third is left
        (0.2, True, "20 %"),
        (0.01, False, "thickened"),
        (0.01, None, "isn't known"),
    ],
)
def test_creaming_is_refused_where_stokes_does_not_hold(
    share: float, newtonian: bool | None, word: str
) -> None:
    found = creaming_speed(1e-6, 910, 1000, 1e-3, share=share, newtonian=newtonian)
    assert isinstance(found, Refusal)
    assert word in found.why


# Temperatures ------------------------------------------------------------------------------------


def mean(*stays: tuple[float, float]) -> KineticMean:
    found = kinetic_mean(Stay(hours, celsius) for hours, celsius in stays)
    assert isinstance(found, KineticMean)
    return found


def test_the_constants_of_the_kinetic_mean() -> None:
    holds(83.144 / 8.3144e-3, "10000", source=USP_1160, within=1e-6)
    assert HEAT_OVER_R == 10_000


@pytest.mark.parametrize(
    ("celsius", "printed"),
    [
        ([25] * 12, "25.000"),
        ([20, 30], "26.260"),
        ([15, 25, 35], "28.197"),
        ([18, 18, 19, 20, 22, 25, 28, 29, 26, 22, 20, 19], "22.958"),
    ],
)
def test_kinetic_means(celsius: list[int], printed: str) -> None:
    found = mean(*((1.0, float(one)) for one in celsius))
    holds(found.kinetic, printed, source=USP_1160)
    assert found.maximum == max(celsius)
    if found.maximum > min(celsius):
        assert not agrees(found.mean, printed, 0.0005), "the plain mean would pass"


def test_a_hot_hour() -> None:
    found = mean((23, 25), (1, 40))
    holds(found.kinetic, "26.372", source=USP_1160)
    assert (found.maximum, found.hours_above_30, found.hours) == (40, 1, 24)


def test_a_year_hides_a_month() -> None:
    # gmp-compliance.org on the USP stimuli article: 23.98 °C over 52 weeks hid 28.98 over 30 days.
    month, rest = (30 * 24.0, 28.98), (334 * 24.0, 23.4)
    assert mean(month, rest).kinetic < 25 < mean(month).kinetic
    assert mean(month, rest).maximum == 28.98


SILBERBERG = [(500 - ZERO, 9.51e-9), (600 - ZERO, 1.10e-5)]
IODIDE = list(
    zip((283, 356, 393, 427, 508), (3.52e-7, 3.02e-5, 2.19e-4, 1.16e-3, 3.95e-2), strict=True)
)


def test_the_energy_from_two_temperatures_and_its_refusal() -> None:
    # Silberberg, sample problem 16.8, coursehero.com/file/5813325; its answer from memory.
    holds(activation_energy(SILBERBERG)[0], "175.9", source="Silberberg, sample problem 16.8")
    found = arrhenius(SILBERBERG, group="chemical")
    assert isinstance(found, Refusal)
    assert "2 temperatures" in found.why


def test_the_energy_from_five_temperatures() -> None:
    # The source reads 190 off its graph; recomputed 186.3.
    found = arrhenius(IODIDE, group="chemical")
    assert isinstance(found, Arrhenius)
    holds(found.energy, "186.3", source="recomputed from the printed rates")
    holds(found.energy, "190", within=0.03 * 190, wide="the source reads it off its graph")
    assert isinstance(found.rate(25), Refusal)
    inside = found.rate(393)
    assert isinstance(inside, float)
    assert inside == pytest.approx(2.19e-4, rel=0.3)


def test_the_energy_that_a_practice_problem_implies() -> None:
    # chemed.chem.purdue.edu, chapter 22, practice problem 12: 2.91e-6 at 573 K, 1.6 at 873 K.
    holds(
        activation_energy([(573 - ZERO, 2.91e-6), (873 - ZERO, 1.6)])[0],
        "183",
        source="Purdue practice problem 12",
    )


@pytest.mark.parametrize("group", ["separation", "structure", "microbial", "pack"])
def test_only_chemical_readings_follow_arrhenius(group: str) -> None:
    assert isinstance(arrhenius(IODIDE, group=group), Refusal)
