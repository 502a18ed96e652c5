"""Centrifuge runs: how hard something was spun. Never a storage time.

Spinning sorts droplets by size as standing doesn't, and presses films that standing leaves alone,
so that no number of minutes at so many g stands for a number of months.
"""

from __future__ import annotations

from dataclasses import dataclass
from math import sqrt

from labbook.evidence.statistics.refusal import Refusal

__all__ = ["PER_CM_AND_RPM_SQUARED", "Spin", "relative_g", "speed_for", "spin"]

PER_CM_AND_RPM_SQUARED = 1.118e-5
"""The relative centrifugal force per centimetre and squared revolution a minute, as published;
(2π/60)² / 100 / 9.80665 has the further digits 1.118244e-5."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Spin:
    """One run: g at the radius, minutes, temperature in °C, and the layer that came off.

    `layer` is its share of the filled height, 0 where nothing came off; None where not measured.
    """

    g: float
    radius_cm: float
    rpm: float
    minutes: float
    temperature: float | None
    layer: float | None


def relative_g(radius_cm: float, rpm: float) -> float:
    """Multiples of gravity at a radius in centimetres (axis to the sample) and a speed in rpm.

    Raises ValueError where one of the two isn't above 0.
    """
    if not (radius_cm > 0 and rpm > 0):
        raise ValueError(f"radius {radius_cm} cm, {rpm} rpm: both have to be above 0")
    return PER_CM_AND_RPM_SQUARED * radius_cm * rpm**2


def speed_for(g: float, radius_cm: float) -> float:
    """The speed in rpm that gives so many g at a radius in centimetres.

    Raises ValueError where one of the two isn't above 0.
    """
    if not (radius_cm > 0 and g > 0):
        raise ValueError(f"{g} g at radius {radius_cm} cm: both have to be above 0")
    return sqrt(g / (PER_CM_AND_RPM_SQUARED * radius_cm))


def spin(
    rpm: float,
    minutes: float,
    *,
    radius_cm: float | None,
    temperature: float | None = None,
    layer: float | None = None,
) -> Spin | Refusal:
    """A run with its g; refused without the radius, because revolutions alone say nothing."""
    if radius_cm is None:
        return Refusal(
            f"{rpm:g} rpm without a radius: measure from the axis to the sample, in centimetres"
        )
    if not minutes > 0 or (layer is not None and not 0 <= layer <= 1):
        raise ValueError(f"{minutes} min, layer {layer}: minutes above 0, layer from 0 to 1")
    return Spin(
        g=relative_g(radius_cm, rpm),
        radius_cm=radius_cm,
        rpm=rpm,
        minutes=minutes,
        temperature=temperature,
        layer=layer,
    )
