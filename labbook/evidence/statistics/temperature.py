"""What a place's temperatures amount to, and how a chemical reading speeds up with them."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from math import exp, fsum, log

from labbook.evidence.statistics.refusal import Refusal

__all__ = [
    "GAS_CONSTANT",
    "Arrhenius",
    "KineticMean",
    "Stay",
    "activation_energy",
    "arrhenius",
    "kinetic_mean",
    "warmest",
]

ZERO_CELSIUS = 273.15
GAS_CONSTANT = 8.314462618e-3
"""In kJ/(mol·K)."""
HEAT_OVER_R = 10_000.0
"""In K: 83.144 kJ/mol over 8.3144e-3 kJ/(mol·K), the constants of USP <1160>."""
WARM = 30.0
LEAST_TEMPERATURES = 3


@dataclass(frozen=True, slots=True)
class Stay:
    """So many hours at a temperature in °C."""

    hours: float
    temperature: float


@dataclass(frozen=True, slots=True, kw_only=True)
class KineticMean:
    """The mean kinetic temperature, and what it hides: °C and hours.

    `maximum` and `hours_above_30` belong beside it: a long mean swallows a hot week.
    """

    kinetic: float
    mean: float
    maximum: float
    hours_above_30: float
    hours: float


def kinetic_mean(stays: Iterable[Stay]) -> KineticMean | Refusal:
    """The one temperature at which the same ageing would have gone on, for 83.144 kJ/mol.

    Source: USP <1160>. Refused where no hours were recorded. Raises ValueError for hours of 0 or
    less and for a temperature below absolute zero.
    """
    every = tuple(stays)
    if not every:
        return Refusal("no temperatures were recorded, so there is no mean of them")
    for stay in every:
        if not (stay.hours > 0 and stay.temperature > -ZERO_CELSIUS):
            raise ValueError(f"{stay.hours} h at {stay.temperature} °C can't have been")
    hours = fsum(stay.hours for stay in every)
    hottest = max(stay.temperature for stay in every)
    shares = fsum(stay.hours * _speed(stay.temperature, hottest) for stay in every)
    return KineticMean(
        kinetic=_kinetic(shares / hours, hottest),
        mean=fsum(stay.hours * stay.temperature for stay in every) / hours,
        maximum=hottest,
        hours_above_30=fsum(stay.hours for stay in every if stay.temperature > WARM),
        hours=hours,
    )


def warmest(stays: Sequence[Stay], hours: float) -> tuple[float, int] | None:
    """The greatest kinetic mean of any stretch of so many hours in a row, and where it begins.

    A mean over a year swallows a hot month: the same source asks for it over 30 days. Stretches
    begin and end with a stay and are at least that long. None where all stays together are shorter.

    Returns:
        the kinetic mean in °C, and which stay the stretch begins with, from 0.
    """
    best: tuple[float, int] | None = None
    begun = [0.0]
    aged = [0.0]
    hottest = max((stay.temperature for stay in stays), default=0.0)
    for stay in stays:
        begun.append(begun[-1] + stay.hours)
        aged.append(aged[-1] + stay.hours * _speed(stay.temperature, hottest))
    end = 0
    for start in range(len(stays)):
        while end < len(stays) and begun[end] - begun[start] < hours - 1e-9:
            end += 1
        if begun[end] - begun[start] < hours - 1e-9:
            break
        share = (aged[end] - aged[start]) / (begun[end] - begun[start])
        if best is None or share > best[0]:
            best = (share, start)
    return None if best is None else (_kinetic(best[0], hottest), best[1])


def _speed(celsius: float, hottest: float) -> float:
    """How fast it ages at a temperature, as a share of the hottest; so no float is left."""
    return exp(-HEAT_OVER_R * (1 / _kelvin(celsius) - 1 / _kelvin(hottest)))


def _kinetic(share: float, hottest: float) -> float:
    """The temperature in °C at which it ages at that share of the hottest's speed."""
    return 1 / (1 / _kelvin(hottest) - log(share) / HEAT_OVER_R) - ZERO_CELSIUS


def _kelvin(celsius: float) -> float:
    return celsius + ZERO_CELSIUS


@dataclass(frozen=True, slots=True, kw_only=True)
class Arrhenius:
    """How a rate rises with temperature: kJ/mol, and the temperatures in °C that it rests on."""

    energy: float
    log_factor: float
    temperatures: int
    lowest: float
    highest: float

    def rate(self, celsius: float) -> float | Refusal:
        """The rate at a temperature between the lowest and the highest that were measured."""
        if not self.lowest <= celsius <= self.highest:
            return Refusal(
                f"{celsius:g} °C is not within what was measured, {self.lowest:g} to "
                f"{self.highest:g} °C"
            )
        return exp(self.log_factor - self.energy / (GAS_CONSTANT * _kelvin(celsius)))


def activation_energy(rates: Sequence[tuple[float, float]]) -> tuple[float, float]:
    """The energy in kJ/mol and the logarithm of the factor, from (°C, rate), by least squares.

    The logarithm of the rate is a straight line in the inverse of the absolute temperature. Raises
    ValueError for a rate that isn't above 0 and for fewer than two temperatures.
    """
    if any(rate <= 0 for _, rate in rates):
        raise ValueError("a rate of 0 or below has no logarithm; leave that temperature out")
    x = [1 / _kelvin(celsius) for celsius, _ in rates]
    y = [log(rate) for _, rate in rates]
    if len(set(x)) < 2:
        raise ValueError("one temperature only; an energy takes two")
    centre, mean = fsum(x) / len(x), fsum(y) / len(y)
    slope = fsum((a - centre) * (b - mean) for a, b in zip(x, y, strict=True)) / fsum(
        (a - centre) ** 2 for a in x
    )
    return -slope * GAS_CONSTANT, mean - slope * centre


def arrhenius(rates: Sequence[tuple[float, float]], *, group: str) -> Arrhenius | Refusal:
    """The rise of a chemical reading's rate, from (°C, rate) at three or more temperatures.

    `group` is the group of failure that the reading belongs to. Separation, structure and the rest
    are refused: with warmth they melt, thin or turn over instead of going faster.
    """
    if group != "chemical":
        return Refusal(
            f"{group} doesn't follow Arrhenius: emulsions melt and thin with warmth; only chemical "
            "readings are reckoned so"
        )
    temperatures = {celsius for celsius, _ in rates}
    if len(temperatures) < LEAST_TEMPERATURES:
        return Refusal(
            f"{len(temperatures)} temperatures; Arrhenius takes at least {LEAST_TEMPERATURES}, or "
            "the line can't be seen to be one"
        )
    energy, log_factor = activation_energy(rates)
    return Arrhenius(
        energy=energy,
        log_factor=log_factor,
        temperatures=len(temperatures),
        lowest=min(temperatures),
        highest=max(temperatures),
    )
