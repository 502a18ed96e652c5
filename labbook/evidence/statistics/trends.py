"""How a reading moves with age: a range always, a line where the readings carry one.

Each batch is told by itself: its readings and their range, and from 5 ages in 3 calibrated sessions
on a line with the one-sided bound of its mean. From 3 such batches on, the tests of ICH Q1E say
whether they share a line; the lines of the single batches stay beside the answer. No bound beyond
the last look.

The answer is one of three. "common line": all readings as one batch. "separate intercepts": one
slope, one scatter, a line each. "separate lines": each batch on its own readings and its own
scatter, the same as its unpooled line. (ICH Q1E also lets separate lines share the scatter; on the
worked example of LeBlond that gives 15.606 months, and this answer 15.845.)
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from math import sqrt

from labbook.evidence.statistics.lines import (
    Line,
    Model,
    Point,
    Poolability,
    Side,
    fit_lines,
    poolability,
)
from labbook.evidence.statistics.refusal import Refusal

__all__ = ["OneBatch", "Pooled", "Session", "Trend", "Watched", "trend"]

LEAST_AGES = 5
LEAST_SESSIONS = 3
LEAST_BATCHES = 3


@dataclass(frozen=True, slots=True, kw_only=True)
class Session:
    """A session of readings, and how the instrument stood in it.

    `offset` is what it was found to read too high, and is taken off all readings of the session.
    `uncertainty` is the standard uncertainty of that, common to all of them: it doesn't average out
    within the session. Both in the unit of the reading.
    """

    name: str
    calibrated: bool
    offset: float = 0.0
    uncertainty: float = 0.0


@dataclass(frozen=True, slots=True)
class Watched:
    """A line with the last look that it may be asked about."""

    line: Line
    until: float

    def bound(self, age: float, side: Side, *, level: float = 0.95) -> float | Refusal:
        """The one-sided bound of the mean at an age that was watched."""
        if not 0 <= age <= self.until:
            return Refusal(f"{age:g} is not within what was watched, which ends at {self.until:g}")
        return self.line.bound(age, side, level=level)

    def passes(self, limit: float, side: Side, *, level: float = 0.95) -> float | Refusal:
        """The age at which the bound passes a limit, if that is within what was watched."""
        age = self.line.passes(limit, side, until=self.until, level=level)
        if age is None:
            return Refusal(
                f"the {side} bound doesn't pass {limit:g} within what was watched, which ends at "
                f"{self.until:g}"
            )
        return age


@dataclass(frozen=True, slots=True, kw_only=True)
class OneBatch:
    """One batch: its readings with the sessions' offsets taken off, their range, its own line.

    `ages` and `sessions` count what calibrated sessions read; only that enters the line.
    `uncalibrated` readings stay in the plot and the range.
    """

    batch: str
    readings: tuple[Point, ...]
    low: float
    high: float
    ages: int
    sessions: int
    uncalibrated: int
    line: Watched | Refusal


@dataclass(frozen=True, slots=True, kw_only=True)
class Pooled:
    """What batches share by ICH Q1E: the tests, the model, and its lines.

    `left_out` are batches with too few ages to be tested.
    """

    model: Model
    test: Poolability
    lines: tuple[Watched, ...]
    left_out: tuple[str, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class Trend:
    """All batches by name, and what they share or why that isn't told."""

    batches: tuple[OneBatch, ...]
    pooled: Pooled | Refusal

    @property
    def answer(self) -> Model | None:
        """Which of the three answers is given; None where none is."""
        return None if isinstance(self.pooled, Refusal) else self.pooled.model


def trend(points: Iterable[Point], sessions: Iterable[Session], *, digit: float = 0.0) -> Trend:
    """The trend of one reading in one condition.

    Args:
        points: the readings, in any order.
        sessions: the sessions that they name; one that isn't here counts as uncalibrated.
        digit: the last digit of the instrument. No scatter smaller than digit/√12 is believed: five
            equal readings show how coarse the instrument is, not how steady the cream.
    """
    known = {session.name: session for session in sessions}
    floor = digit / sqrt(12)
    by_batch: dict[str, list[Point]] = {}
    for point in sorted(points, key=lambda p: (p.batch, p.age, p.session, p.value)):
        session = known.get(point.session)
        value = point.value - (session.offset if session else 0.0)
        by_batch.setdefault(point.batch, []).append(replace(point, value=value))
    batches = tuple(_one_batch(name, own, known, floor) for name, own in by_batch.items())
    return Trend(batches=batches, pooled=_pooled(batches, known, floor))


def _calibrated(points: Sequence[Point], known: Mapping[str, Session]) -> list[Point]:
    return [p for p in points if p.session in known and known[p.session].calibrated]


def _one_batch(
    name: str, points: Sequence[Point], known: Mapping[str, Session], floor: float
) -> OneBatch:
    counted = _calibrated(points, known)
    ages, sessions = len({p.age for p in counted}), len({p.session for p in counted})
    line: Watched | Refusal
    if ages < LEAST_AGES or sessions < LEAST_SESSIONS:
        line = Refusal(
            f"{ages} ages in {sessions} calibrated sessions; a line takes at least {LEAST_AGES} "
            f"ages in {LEAST_SESSIONS}"
        )
    else:
        line = _watched(counted, "separate lines", known, floor)[0]
    return OneBatch(
        batch=name,
        readings=tuple(points),
        low=min(p.value for p in points),
        high=max(p.value for p in points),
        ages=ages,
        sessions=sessions,
        uncalibrated=len(points) - len(counted),
        line=line,
    )


def _watched(
    points: Sequence[Point], model: Model, known: Mapping[str, Session], floor: float
) -> tuple[Watched, ...]:
    """The lines of a model, each with the last look at what it speaks of."""
    calibration = {name: session.uncertainty for name, session in known.items()}
    lines = fit_lines(points, model, shared=False, calibration=calibration)
    return tuple(
        Watched(
            replace(line, scatter=max(line.scatter, floor)),
            max(p.age for p in points if line.batch in ("", p.batch)),
        )
        for line in lines
    )


def _pooled(
    batches: Sequence[OneBatch], known: Mapping[str, Session], floor: float
) -> Pooled | Refusal:
    enough = [one for one in batches if isinstance(one.line, Watched)]
    if len(enough) < LEAST_BATCHES:
        return Refusal(
            f"{len(enough)} batches with {LEAST_AGES} ages each; whether batches share a line "
            f"takes at least {LEAST_BATCHES}"
        )
    points = [p for one in enough for p in _calibrated(one.readings, known)]
    scatter = [one.line.line.scatter for one in enough if isinstance(one.line, Watched)]
    # A hair above 0, because readings exactly on a line leave rounding as their scatter.
    if max(scatter) <= max(floor, 1e-9 * max(abs(p.value) for p in points)):
        return Refusal(
            "the readings scatter less than the instrument's last digit, so no test can tell "
            "whether batches share a line"
        )
    test = poolability(points)
    return Pooled(
        model=test.model,
        test=test,
        lines=_watched(points, test.model, known, floor),
        left_out=tuple(one.batch for one in batches if isinstance(one.line, Refusal)),
    )
