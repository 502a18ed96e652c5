"""Runs in a centrifuge, as looks say them: the g of each, and which runs are alike.

A run is a yes/no test of a sample. Its minutes stand for no time on a shelf, and a run of another
g is another test.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from math import floor, log10

from labbook.evidence.failure import CENTRIFUGE
from labbook.evidence.statistics.centrifuge import Spin, speed_for, spin
from labbook.evidence.statistics.refusal import Refusal
from labbook.model.jars import Look

NEVER = "A run is a test of its own: no minutes of it stand for days on a shelf."


@dataclass(frozen=True, slots=True)
class Run:
    """One look at a spun sample, with what its centrifuge did; None where that was not said."""

    look: Look
    spin: Spin | None

    @property
    def condition(self) -> str:
        """`centrifuge 1000 g 30 min`: runs are alike where g, to two digits, and minutes are."""
        if self.spin is None:
            return CENTRIFUGE
        return f"{CENTRIFUGE} {_two_digits(self.spin.g)} g {self.spin.minutes:g} min"

    @property
    def words(self) -> str:
        """`1006 g for 30 min at 25 °C`, or that it is not written down."""
        if self.spin is None:
            return "radius, speed or minutes not written down"
        told = f"{self.spin.g:.0f} g for {self.spin.minutes:g} min"
        return f"{told} at {self.look.at}" if self.look.at else told


def _two_digits(g: float) -> str:
    return f"{round(g, 1 - floor(log10(g))):.10g}"


def run_of(look: Look) -> Run:
    """The run that a look tells of; the layer as a share where its height was measured too."""
    if look.speed is None or look.spun is None:
        return Run(look, None)
    speed, minutes = float(look.speed.exact("rpm")), float(look.spun.exact("min"))
    radius = float(look.radius.exact("cm")) if look.radius is not None else None
    if speed <= 0 or minutes <= 0 or radius == 0:
        return Run(look, None)
    found = spin(
        speed,
        minutes,
        radius_cm=radius,
        temperature=float(look.at.exact("°C")) if look.at is not None else None,
        layer=_share(look.extent or ""),
    )
    return Run(look, None if isinstance(found, Refusal) else found)


def _share(extent: str) -> float | None:
    """The layer's share of the height from `3/41`."""
    layer, slash, height = extent.partition("/")
    try:
        found = float(layer) / float(height) if slash else None
    except (ValueError, ZeroDivisionError):
        return None
    return found if found is not None and 0 <= found <= 1 else None


def as_before(run: Run, before: Sequence[Run]) -> str:
    """What to set so that a run is as hard as the last one before; empty where it is, or none was.

    Args:
        run: the run.
        before: earlier ones, in order of time.
    """
    last = next((one for one in reversed(before) if one.spin is not None), None)
    if run.spin is None or last is None or last.spin is None or run.condition == last.condition:
        return ""
    told = f"The run before was {last.words}; only like runs are compared."
    rpm = speed_for(last.spin.g, run.spin.radius_cm)
    if abs(rpm - run.spin.rpm) < 1:
        return told
    return f"{told} With a radius of {run.spin.radius_cm:g} cm that is {rpm:.0f} rpm."
