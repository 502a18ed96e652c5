"""`stability creaming`: how fast a droplet seen under the microscope rises, where Stokes holds."""

from __future__ import annotations

from fractions import Fraction

from labbook.evidence.statistics.creaming import creaming_speed
from labbook.evidence.statistics.refusal import Refusal
from labbook.model.errors import Unclear
from labbook.model.quantities import Quantity, QuantityError, parse_quantity
from labbook.model.results.creaming import Creamed

_EXAMPLE = (
    "labbook stability creaming '4 µm' --inner '0.92 g/ml' --outer '1.00 g/ml'"
    " --viscosity '1 mPa s' --share 1 --thin"
)


def creaming(
    droplet: str, *, inner: str, outer: str, viscosity: str, share: str, thin: bool
) -> Creamed:
    """The speed of a droplet, or why Stokes' law doesn't say it.

    Args:
        droplet: its diameter, as a microscope shows it.
        inner: density of the droplet.
        outer: density of the phase around it.
        viscosity: of that phase.
        share: of all droplets by volume, in percent.
        thin: that phase flows like water or oil, nothing thickens it.

    Raises:
        Unclear: one of them is no such quantity, or nothing.
    """
    size = _over_nothing(droplet, "length", "mm")
    found = creaming_speed(
        float(size / 2000),
        float(_over_nothing(inner, "", "g/ml") * 1000),
        float(_over_nothing(outer, "", "g/ml") * 1000),
        float(_over_nothing(viscosity, "", "mPa s") / 1000),
        share=float(_over_nothing(share, "percent", "%", default="%") / 100),
        newtonian=True if thin else None,
    )
    if isinstance(found, Refusal):
        return Creamed(droplet=droplet, why=found.why)
    return Creamed(droplet=droplet, mm_per_day=found.mm_per_day)


def _over_nothing(text: str, dimension: str, unit: str, *, default: str = "") -> Fraction:
    try:
        found: Quantity = parse_quantity(text.replace(",", "."), dimension, default=default)
        value = found.exact(unit)
    except QuantityError as error:
        raise Unclear(f"{error}.", mend=f"Write it: {_EXAMPLE}") from error
    if value <= 0:
        raise Unclear(f"{text} is nothing.", mend=f"Write it: {_EXAMPLE}")
    return value
