"""Results of following a reading over time: like with like, its range, and a line where it may be.

Ages in days from filling, of the making from combining. Values as they were typed.
"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date
from decimal import Decimal

from labbook.model.quantities import Quantity
from labbook.model.results.common import Next


@dataclass(frozen=True, slots=True, kw_only=True)
class ReadingPoint:
    """One reading of one jar, with all that decides what it may be compared with.

    `jar` is empty for a reading of the making. `by` says how it was taken; `session` is the day,
    `calibrated` whether its instrument had been checked by then, where it needs that, and
    `uncertainty` what that check found, in the unit of the reading.
    """

    batch: str
    short: str
    jar: str
    condition: str
    age: float
    day: date
    value: Decimal
    unit: str
    at: Quantity | None = None
    rest: Quantity | None = None
    by: str = ""
    of: str = ""
    planned: float | None = None
    calibrated: bool = True
    uncertainty: float = 0.0

    @property
    def session(self) -> str:
        """The day on which it was read, as its session's name."""
        return self.day.isoformat()


@dataclass(frozen=True, slots=True, kw_only=True)
class Apart:
    """A reading that is compared with no other, and why."""

    point: ReadingPoint
    why: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Series:
    """The readings of one jar (or batch) that may be compared, in order of age."""

    name: str
    batch: str
    condition: str
    points: tuple[ReadingPoint, ...]

    @property
    def low(self) -> Decimal:
        """The smallest value."""
        return min(point.value for point in self.points)

    @property
    def high(self) -> Decimal:
        """The greatest value."""
        return max(point.value for point in self.points)


@dataclass(frozen=True, slots=True, kw_only=True)
class TrendLine:
    """A line through a batch's readings, from 0 to the last look, with its one-sided 95 % bounds.

    `points` are (age, line, lower bound, upper bound). `batch` is empty for a common line.
    """

    batch: str
    slope: float
    until: float
    points: tuple[tuple[float, float, float, float], ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class AgeRow:
    """One age at which several series were read: `day 28`, and a value for each, None for none."""

    age: float
    values: tuple[Decimal | None, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class ReadingTrend:
    """A reading of a formula's jars in one condition.

    `limits` are what the formula asks for, from and to. `said` are sentences on what the readings
    carry. `readings` and `conditions` are what else there is to follow.
    """

    code: str
    title: str
    day: date
    reading: str
    unit: str
    condition: str
    by_batch: bool = False
    series: tuple[Series, ...] = ()
    rows: tuple[AgeRow, ...] = ()
    apart: tuple[Apart, ...] = ()
    lines: tuple[TrendLine, ...] = ()
    limits: tuple[Decimal | None, Decimal | None] = (None, None)
    said: tuple[str, ...] = ()
    readings: tuple[tuple[str, int], ...] = ()
    conditions: tuple[str, ...] = ()
    then: tuple[Next, ...] = ()
