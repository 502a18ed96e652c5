"""How warmth speeds up a chemical reading, by Arrhenius, from lines at three temperatures.

Only for what a reaction moves. Separation and structure melt, thin or turn over with warmth instead
of going faster; and even here no day in one condition stands for days in another.
"""

from __future__ import annotations

import re
from collections.abc import Sequence
from math import fsum

from labbook.evidence.failure import condition_key
from labbook.evidence.outcomes import in_order_of_telling
from labbook.evidence.reading_lines import lines_of
from labbook.evidence.readings import alike, series_of
from labbook.evidence.statistics.refusal import Refusal
from labbook.evidence.statistics.temperature import LEAST_TEMPERATURES, arrhenius
from labbook.model.results.trends import ReadingPoint

CHEMICAL = frozenset({"ph", "peroxide value", "acid value"})
"""Readings of the chemical group that are figures."""


def speeding(reading: str, emulsion: str | None, points: Sequence[ReadingPoint]) -> str:
    """What the lines of a reading at several temperatures tell; empty below three of them.

    Args:
        reading: the kind.
        emulsion: the formula's type, for what may be compared.
        points: all readings of that kind, in any condition; only conditions that name their
            temperature count.
    """
    if reading.casefold() not in CHEMICAL:
        return ""
    rates = list(_rates(reading, emulsion, points))
    if len({celsius for celsius, _ in rates}) < LEAST_TEMPERATURES:
        return ""
    if len({rate > 0 for _, rate in rates}) > 1 or any(not rate for _, rate in rates):
        return "Between temperatures it goes different ways, so no speeding up is reckoned."
    found = arrhenius([(celsius, abs(rate)) for celsius, rate in rates], group="chemical")
    if isinstance(found, Refusal):
        return f"{found.why}."
    return (
        f"With warmth it goes faster by {found.energy:.0f} kJ/mol (Arrhenius, lines at"
        f" {found.temperatures} temperatures, {found.lowest:g} to {found.highest:g} °C); nothing is"
        " said beyond those, and no day in one stands for days in another."
    )


def _rates(
    reading: str, emulsion: str | None, points: Sequence[ReadingPoint]
) -> list[tuple[float, float]]:
    """The temperature of each condition that names one and has lines, with their mean slope."""
    found = []
    for condition in in_order_of_telling(point.condition for point in points if point.jar):
        celsius = _celsius(condition)
        key = condition_key(condition)
        here = [point for point in points if condition_key(point.condition) == key]
        like, _, _ = alike(reading, here, emulsion=emulsion)
        lines, _ = lines_of(reading, series_of(like, by_batch=False), "")
        if celsius is not None and lines:
            found.append((celsius, fsum(line.slope for line in lines) / len(lines)))
    return found


def _celsius(condition: str) -> float | None:
    match = re.search(r"(-?[0-9]+(?:[.,][0-9]+)?)c\b", condition_key(condition))
    return float(match[1].replace(",", ".")) if match else None
