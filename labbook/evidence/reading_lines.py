"""What readings over time carry: a line with bounds where there are enough, else why none."""

from __future__ import annotations

from collections.abc import Sequence
from decimal import Decimal

from labbook.evidence.readings import is_rank
from labbook.evidence.statistics.lines import Point
from labbook.evidence.statistics.refusal import Refusal
from labbook.evidence.statistics.trends import (
    LEAST_AGES,
    LEAST_SESSIONS,
    OneBatch,
    Pooled,
    Session,
    Trend,
    Watched,
    trend,
)
from labbook.model.results.trends import ReadingPoint, Series, TrendLine

_STEPS = 12
"""Stretches into which a line is cut, so that its bent bounds can be drawn."""


def lines_of(
    reading: str, series: Sequence[Series], unit: str
) -> tuple[tuple[TrendLine, ...], tuple[str, ...]]:
    """The lines that may be drawn, and the sentences that say what the readings carry.

    The unit is the batch: readings of several jars of one batch in one condition are one batch's.
    """
    points = [point for one in series for point in one.points]
    if not points:
        return (), ()
    if is_rank(reading):
        return (), ("Scores are ranks: their range is told, and no line is drawn.",)
    found = _trend(points)
    shared = found.pooled if isinstance(found.pooled, Pooled) else None
    lines = shared.lines if shared else tuple(
        one.line for one in found.batches if isinstance(one.line, Watched)
    )  # fmt: skip
    return tuple(_drawn(line) for line in lines), tuple(_said(found, unit))


def _trend(points: Sequence[ReadingPoint]) -> Trend:
    sessions = {
        point.session: Session(
            name=point.session, calibrated=point.calibrated, uncertainty=point.uncertainty
        )
        for point in points
    }
    digit = max(Decimal(1).scaleb(_exponent(point.value)) for point in points)
    plain = [Point(p.short, p.age, float(p.value), p.session) for p in points]
    return trend(plain, sessions.values(), digit=float(digit))


def _exponent(value: Decimal) -> int:
    exponent = value.as_tuple().exponent
    return exponent if isinstance(exponent, int) else 0


def _drawn(watched: Watched) -> TrendLine:
    ages = [watched.until * n / _STEPS for n in range(_STEPS + 1)]
    line = watched.line
    return TrendLine(
        batch=line.batch,
        slope=line.slope,
        until=watched.until,
        points=tuple(
            (age, line.at(age), line.bound(age, "lower"), line.bound(age, "upper")) for age in ages
        ),
    )


def _said(found: Trend, unit: str) -> list[str]:
    """What each line says, which batches have none and what it would take, and what they share."""
    short = [one for one in found.batches if isinstance(one.line, Refusal)]
    said = [_line_words(one.batch, one.line, unit)
            for one in found.batches if isinstance(one.line, Watched)]  # fmt: skip
    if short:
        told = ", ".join(f"{one.batch} {_counted(one)}" for one in short)
        said.append(
            f"No line: that takes {LEAST_AGES} ages in {LEAST_SESSIONS} calibrated sessions."
            f" So far {told}."
        )
    if len(found.batches) > max(1, len(short)):
        said += _pooled_words(found)
    return said


def _counted(one: OneBatch) -> str:
    if not one.ages:
        return "none"
    return f"{one.ages} {'age' if one.ages == 1 else 'ages'} in {one.sessions}"


def _line_words(batch: str, watched: Watched, unit: str) -> str:
    line, until = watched.line, watched.until
    low, high = line.bound(until, "lower"), line.bound(until, "upper")
    change = f"{line.slope * 30:+.2g} {unit}".rstrip()
    return (
        f"{batch}: {change} in 30 days. On day {until:.0f}, the last look, its mean is at least"
        f" {low:.3g}; or it is at most {high:.3g} (each one-sided, 95 %)."
    )


def _pooled_words(found: Trend) -> list[str]:
    if isinstance(found.pooled, Refusal):
        return [f"{found.pooled.why[0].upper()}{found.pooled.why[1:]}."]
    told = {
        "common line": "The batches share one line",
        "separate intercepts": "The batches share a slope, not a level",
        "separate lines": "Each batch has its own line, with its own scatter",
    }[found.pooled.model]
    test = found.pooled.test
    return [
        f"{told} (slopes p {test.slopes_p:.2f}, levels p {test.intercepts_p:.2f}; told apart below"
        " 0.25)."
    ]
