"""What the pictures draw: the jars of a timeline, the lines of a curve, the points of a trend.

Ages are days since filling; a figure that is not known is None, never 0.
"""

from __future__ import annotations

from dataclasses import dataclass

from labbook.model.results.looking import DAYS, JarOutcome

# Timeline -----------------------------------------------------------------------------------------


@dataclass(frozen=True, slots=True, kw_only=True)
class Mark:
    """One look at a jar.

    `day` is counted from filling, whatever the condition; `point` and `unit` are how the condition
    counts it: days since the jar was put there, or cycles. `grade` is None where none was given.
    """

    day: float
    point: float
    unit: str = DAYS
    grade: int | None = None
    failed: bool = False
    condition: str = ""
    modes: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class JarStay:
    """A stretch in one condition, from a day since filling on, and what became of the jar there.

    `outcome` is None where nobody looked.
    """

    condition: str
    start: float
    outcome: JarOutcome | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class JarRow:
    """One jar: where it stood, what was seen, and between which days it failed.

    `of` is what it was made of, `SBC@3`. It failed after `failed_from` and by `failed_at`, in days
    since filling; both None for a jar that is intact so far or was not looked at. `young` says that
    it was not watched as long as it took another one to fail. `while_making` is a failure seen on
    the bulk.
    """

    name: str
    of: str = ""
    stays: tuple[JarStay, ...] = ()
    looks: tuple[Mark, ...] = ()
    failed_from: float | None = None
    failed_at: float | None = None
    young: bool = False
    while_making: bool = False


@dataclass(frozen=True, slots=True, kw_only=True)
class JarGroup:
    """Rows under one heading, mostly a condition; an empty heading is not drawn."""

    heading: str
    rows: tuple[JarRow, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class Timeline:
    """The jars of a batch, or of a formula's batches, over days.

    `left_out` counts jars that the picture has no room for.
    """

    subject: str
    groups: tuple[JarGroup, ...]
    left_out: int = 0

    @property
    def rows(self) -> tuple[JarRow, ...]:
        """All rows, in the order in which they are drawn."""
        return tuple(row for group in self.groups for row in group.rows)


# Curve --------------------------------------------------------------------------------------------


@dataclass(frozen=True, slots=True)
class CurvePiece:
    """The share intact from one age up to another lies between `low` and `high`, both 0 to 1.

    They are equal where it is determined.
    """

    start: float
    end: float
    low: float
    high: float


@dataclass(frozen=True, slots=True)
class CurveStep:
    """From the look at an age on the share intact is `intact`, with a standard error."""

    age: float
    intact: float
    error: float


@dataclass(frozen=True, slots=True, kw_only=True)
class CurveLine:
    """The share of one group that is intact, by age; there is none beyond the last piece.

    `last_intact` is for each of the group the last age at which it was seen intact: it says how few
    the late part of a curve rests on. Empty where it is not handed in. `bounds` hold the true share
    intact at the end of the last piece, two-sided at 95 %; None where the outcomes are too few.
    `steps` are Kaplan and Meier's, with Greenwood's standard errors; none where not all had the
    same looks.
    """

    name: str
    of: int
    failed: int
    while_making: float = 0.0
    pieces: tuple[CurvePiece, ...] = ()
    last_intact: tuple[float, ...] = ()
    bounds: tuple[float, float] | None = None
    steps: tuple[CurveStep, ...] = ()

    def watched(self, age: float) -> int:
        """How many were seen intact at this age or later."""
        return sum(last >= age for last in self.last_intact)


@dataclass(frozen=True, slots=True, kw_only=True)
class CurvePicture:
    """One or several curves: what is counted (`batches`, `jars`), of what, in which condition."""

    subject: str
    event: str
    condition: str
    lines: tuple[CurveLine, ...]
    counted: str = "batches"
    unit: str = DAYS


# Trend --------------------------------------------------------------------------------------------


@dataclass(frozen=True, slots=True, kw_only=True)
class TrendPoint:
    """One reading of one batch or jar at an age; `spread` is its uncertainty to either side."""

    age: float
    value: float
    series: str
    spread: float = 0.0


@dataclass(frozen=True, slots=True, kw_only=True)
class TrendLine:
    """A fitted line and its one-sided bound as (age, value); `name` is empty for a common line."""

    name: str
    line: tuple[tuple[float, float], ...]
    bound: tuple[tuple[float, float], ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class TrendPicture:
    """Readings over days; lines only where the numbers carry one, else the range alone.

    `limits` are values with their words. `why` says why there is no line.
    """

    subject: str
    reading: str
    points: tuple[TrendPoint, ...]
    unit: str = ""
    lines: tuple[TrendLine, ...] = ()
    limits: tuple[tuple[float, str], ...] = ()
    why: str = ""
