"""A run in a centrifuge as it is typed: `3000 rpm, 10 cm, 30 min`."""

from __future__ import annotations

import re
from collections.abc import Mapping
from dataclasses import replace

from labbook.model.errors import Unclear
from labbook.model.materials import Equipment
from labbook.model.quantities import Quantity, QuantityError, parse_quantity
from labbook.work.seeing import Seen

_EXAMPLE = "--spin '3000 rpm, 10 cm, 30 min'"
_PART = re.compile(r"[0-9]+(?:[.,][0-9]+)?\s*[^\s0-9,;]+")
_LONGEST = 200
"""Signs of the phrase; what is longer says something else, and takes its time to be parted."""
_FIELDS = {"speed": "speed", "length": "radius", "time": "spun", "temperature": "at"}


def with_spin(seen: Seen, text: str, equipment: Mapping[str, Equipment]) -> Seen:
    """Adds a run in a centrifuge: its speed, its radius, how long, and how warm.

    Args:
        seen: what was seen of the sample.
        text: as typed, in any order.
        equipment: the notebook's, for the radius where it is not said.

    Raises:
        Unclear: speed or time is missing, or the radius is neither said nor known; or something in
            it is none of these.
    """
    parts = _parts(text)
    if not {"speed", "spun"} <= parts.keys():
        raise Unclear("A run has a speed and a time.", mend=f"Write it: {_EXAMPLE}")
    radius = parts.get("radius") or _usual_radius(equipment)
    if radius is None:
        raise Unclear(
            f"{parts['speed']} without a radius: in another centrifuge that is another g.",
            mend=f"Measure from the axis to the sample: {_EXAMPLE}\n"
            "Said once for all runs: labbook equipment add NAME --kind centrifuge --radius 10cm",
        )
    for quantity in (parts["speed"], parts["spun"], radius):
        if quantity.value <= 0:
            raise Unclear(f"{quantity} in a centrifuge?", mend=f"Write it: {_EXAMPLE}")
    return replace(
        seen, speed=parts["speed"], spun=parts["spun"], radius=radius,
        at=seen.at or parts.get("at"),
    )  # fmt: skip


def _parts(text: str) -> dict[str, Quantity]:
    """The quantities of the phrase, by the key of a look that each goes under."""
    if len(text) > _LONGEST:
        raise Unclear(f"{text[:40]!r} and so on is no run.", mend=f"Write it: {_EXAMPLE}")
    found: dict[str, Quantity] = {}
    for typed in _PART.findall(text):
        try:
            quantity = parse_quantity(typed.replace(",", "."))
        except QuantityError as error:
            raise Unclear(f"{error}.", mend=f"Write it: {_EXAMPLE}") from error
        key = _FIELDS.get(quantity.dimension, "")
        if not key or key in found:
            raise Unclear(f"{typed} in a centrifuge?", mend=f"Write it: {_EXAMPLE}")
        found[key] = quantity
    left = re.sub(r"\b(?:for|at)\b|[\s,;]+", "", _PART.sub("", text))
    if left:
        raise Unclear(f"{left!r} says nothing of a run.", mend=f"Write it: {_EXAMPLE}")
    return found


def _usual_radius(equipment: Mapping[str, Equipment]) -> Quantity | None:
    """The radius of the notebook's centrifuge; None where it has none, or several that differ."""
    radii = {
        tool.radius
        for tool in equipment.values()
        if tool.kind == "centrifuge" and not tool.retired and tool.radius is not None
        and tool.radius.dimension == "length"
    }  # fmt: skip
    return radii.pop() if len(radii) == 1 else None
