"""What a thermometer's log amounts to, for a place or for the time a jar stood there.

Each reading holds until the next. Where the log pauses for more than four of its usual steps,
nobody knows how warm it was: such a gap counts in nothing and is told.
"""

from __future__ import annotations

from collections.abc import Sequence
from datetime import timedelta
from itertools import pairwise
from statistics import median

from labbook.evidence.statistics.refusal import Refusal
from labbook.evidence.statistics.temperature import Stay, kinetic_mean, warmest
from labbook.model.results.temperatures import LoggedTemperature, Warmth

GAP = 4
"""Usual steps of a log after which a pause is a gap: common practice, no source."""

WINDOW = 30 * 24.0
"""Hours over which a mean of a room is asked for: 30 days, by the notes to USP <1160>."""


def warmth(log: Sequence[LoggedTemperature], *, source: str, about: str = "") -> Warmth | Refusal:
    """Reckons a log, in order of time.

    Args:
        log: the readings.
        source: the file's name.
        about: of which jar's stay it is; empty for the whole log.
    """
    if len(log) < 2:
        return Refusal(f"{len(log)} readings in that time; a mean takes two")
    steps = [_hours(two.time - one.time) for one, two in pairwise(log)]
    most = GAP * median(steps)
    held = [(one, hours) for one, hours in zip(log, steps, strict=False) if hours <= most]
    stays = [Stay(hours, one.celsius) for one, hours in held]
    found = kinetic_mean(stays)
    if isinstance(found, Refusal):
        return found
    hottest = max(log, key=lambda one: one.celsius)
    hot = warmest(stays, WINDOW)
    return Warmth(
        source=source, about=about, first=log[0].time, last=log[-1].time, readings=len(log),
        hours=found.hours, kinetic=found.kinetic, mean=found.mean, maximum=hottest.celsius,
        maximum_at=hottest.time, minimum=min(one.celsius for one in log),
        hours_above_30=found.hours_above_30,
        warmest=None if hot is None else (hot[0], held[hot[1]][0].time),
        gaps=len(steps) - len(held), gap_hours=sum(steps) - found.hours,
    )  # fmt: skip


def _hours(span: timedelta) -> float:
    return span.total_seconds() / 3600
