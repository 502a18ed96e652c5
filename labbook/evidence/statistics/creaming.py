"""How fast single droplets rise or sink, by Stokes, where his law holds: nearly nowhere in creams.

The law is for one droplet in a Newtonian liquid. Two droplets in a hundred already hinder each
other, and a cream with a yield stress doesn't let them move at all.
"""

from __future__ import annotations

from dataclasses import dataclass

from labbook.evidence.statistics.refusal import Refusal

__all__ = ["STANDARD_GRAVITY", "Creaming", "creaming_speed", "stokes"]

STANDARD_GRAVITY = 9.80665
"""In m/s²."""
FEW = 0.02
SLOW = 0.1
"""The Reynolds number up to which Stokes' law is taken to hold; the error there is about 2 %."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Creaming:
    """A droplet's speed, above 0 rising and below 0 sinking, and its Reynolds number."""

    speed: float  # m/s
    reynolds: float

    @property
    def mm_per_day(self) -> float:
        """The speed in millimetres a day."""
        return self.speed * 86_400_000


def stokes(radius: float, inner: float, outer: float, viscosity: float) -> float:
    """Stokes' speed in m/s, above 0 rising, whether or not his law holds.

    Args:
        radius: of the droplet, in m (not its diameter: that would give four times the speed).
        inner: density of the droplet, in kg/m³.
        outer: density of the liquid around it, in kg/m³.
        viscosity: of that liquid, in Pa·s.
    """
    if not (radius > 0 and inner > 0 and outer > 0 and viscosity > 0):
        raise ValueError("radius, densities and viscosity all have to be above 0")
    return 2 * radius**2 * (outer - inner) * STANDARD_GRAVITY / (9 * viscosity)


def creaming_speed(
    radius: float,
    inner: float,
    outer: float,
    viscosity: float,
    *,
    share: float,
    newtonian: bool | None,
) -> Creaming | Refusal:
    """The speed of a droplet, where Stokes' law holds.

    Args:
        radius: as for `stokes`, like the next three.
        inner: density of the droplet.
        outer: density around it.
        viscosity: of the liquid around it.
        share: of the droplets by volume, 0 to 1.
        newtonian: whether the outer phase flows like water or oil; None where nobody knows.
    """
    if share >= FEW:
        return Refusal(
            f"{share * 100:.3g} % droplets by volume: Stokes' law is for less than {FEW * 100:g} %,"
            " where they don't hinder each other"
        )
    if not newtonian:
        how = "is thickened" if newtonian is False else "isn't known to be Newtonian"
        return Refusal(
            f"the outer phase {how}: Stokes' law needs one that flows the same at any stress"
        )
    speed = stokes(radius, inner, outer, viscosity)
    reynolds = outer * abs(speed) * 2 * radius / viscosity
    if reynolds > SLOW:
        return Refusal(
            f"droplets this large move too fast for Stokes' law (Reynolds number {reynolds:.2g}; "
            f"at most {SLOW:g})"
        )
    return Creaming(speed=speed, reynolds=reynolds)
