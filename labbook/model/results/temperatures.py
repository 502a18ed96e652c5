"""How warm a place was, from the log of a thermometer: means, and what they hide."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime


@dataclass(frozen=True, slots=True)
class LoggedTemperature:
    """One line of a log: when, and how warm in °C."""

    time: datetime
    celsius: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Warmth:
    """What a log amounts to, in °C and hours.

    Each reading holds until the next. `kinetic` is the one temperature at which the same chemical
    ageing would have gone on; `maximum`, when it was, and `hours_above_30` stand beside it.
    `warmest` is the greatest kinetic mean of any 30 days, with the first of them; None for shorter
    logs. `gap_hours` were not logged, in `gaps` stretches, and count in nothing. `about` says of
    which jar's stay it is; empty for the whole log.
    """

    source: str
    about: str
    first: datetime
    last: datetime
    readings: int
    hours: float
    kinetic: float
    mean: float
    maximum: float
    maximum_at: datetime
    minimum: float
    hours_above_30: float
    warmest: tuple[float, datetime] | None = None
    gaps: int = 0
    gap_hours: float = 0.0
