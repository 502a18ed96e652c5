"""Between which two looks something failed: the raw material of curve, comparison and fit."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

__all__ = ["Interval", "failed_while_making", "interval", "latest"]


@dataclass(frozen=True, slots=True)
class Interval:
    """The half-open stretch (low, high] in which one batch or jar failed.

    `low` is the age at which it was last seen intact, 0 where nobody looked before it had failed.
    `high` is the age at which it was first seen failed: intact at `low`, failed at `high`. None is
    intact so far. Both 0 is a failure while making. Ages in one unit, days or cycles.
    """

    low: float
    high: float | None
    name: str = ""

    def __post_init__(self) -> None:
        ends = self.high is None or self.high > self.low or self.high == self.low == 0
        if not (0 <= self.low < float("inf") and ends):
            what = self.name or "an interval"
            raise ValueError(
                f"{what}: intact at {self.low}, failed at {self.high}; it has to be seen intact at "
                "0 or later, and failed after that"
            )

    @property
    def failed(self) -> bool:
        """Whether it failed at all."""
        return self.high is not None


def interval(
    last_intact: float | None, first_failed: float | None, name: str = ""
) -> Interval | None:
    """The interval of an outcome that says None for "never seen so".

    None where it was neither seen intact nor failed: what nobody looked at is not counted. A
    failure at 0 happened while making. One first looked at when it had failed was not noticed
    failing while making, so it lies after 0.
    """
    if last_intact is None and first_failed is None:
        return None
    return Interval(last_intact or 0.0, first_failed, name)


def failed_while_making(one: Interval) -> bool:
    """Whether it failed at time 0."""
    return one.high == 0


def latest(intervals: Sequence[Interval]) -> float:
    """The last look that says anything: the greatest age in any interval; 0 for none."""
    return max((one.high or one.low for one in intervals), default=0.0)
