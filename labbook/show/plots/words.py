"""What a picture shows, in words: titles, text alternatives, and the cells of its table.

Never more than was seen: a jar is intact until a look, a share lies between two values.
"""

from __future__ import annotations

from collections.abc import Iterator
from math import ceil, floor

from labbook.model.results.looking import CYCLES, FAILED, INTACT
from labbook.model.results.pictures import (
    CurveLine,
    CurvePicture,
    JarRow,
    JarStay,
    Mark,
    Timeline,
    TrendLine,
    TrendPicture,
    TrendPoint,
)
from labbook.show.outcomes import NOT_LOOKED_AT, interval_words, listed, point_words
from labbook.show.parts import plural
from labbook.show.plots.lines import last_look, until

SPOKEN = 8
"""Jars that a text alternative tells one by one; of more it tells the counts and the failures."""

NOT_EVEN = "Days draw together to the right."


# Timeline -----------------------------------------------------------------------------------------


def timeline_title(found: Timeline) -> str:
    """`The jars of K2, SBC@3, over days`."""
    return f"The jars of {found.subject}, over days"


def timeline_words(found: Timeline) -> str:
    """The timeline in sentences."""
    rows = found.rows
    if not rows:
        return "There is no jar to draw."
    last = max((mark.day for row in rows for mark in row.looks), default=0.0)
    until = f" over {plural(round(last), 'day')} since filling" if last >= 1 else ""
    sentences = [f"{plural(len(rows), 'jar')} of {found.subject}{until}."]
    if len(rows) <= SPOKEN:
        sentences += [f"{row.name}: {row_words(row)}." for row in rows]
    else:
        sentences += list(_counts(found))
    if found.left_out:
        sentences.append(left_out_words(found))
    return " ".join(sentences)


def _counts(found: Timeline) -> Iterator[str]:
    for group in found.groups:
        failed = [row for row in group.rows if row.failed_at is not None]
        intact = [row for row in group.rows if row.failed_at is None and row.looks]
        place = f"{group.heading}: " if group.heading else ""
        parts = [f"{plural(len(intact), 'jar')} intact at the last look"] if intact else []
        parts += [f"{row.name} {row_words(row, short=True)}" for row in failed]
        young = [row.name for row in group.rows if row.young]
        parts += [f"{listed(young)} too young to compare"] if young else []
        yield f"{place}{'; '.join(parts) or NOT_LOOKED_AT}."


def row_words(row: JarRow, *, short: bool = False) -> str:
    """What became of one jar, condition by condition."""
    if row.while_making and row.failed_at == 0:
        return "failed while making"
    parts = [stay_words(stay, short=short) for stay in row.stays]
    told = "; then ".join(parts)
    return f"{told}; too young to compare" if row.young else told


def stay_words(stay: JarStay, *, short: bool = False) -> str:
    """`room, intact on day 28`; `freeze-thaw, failed between cycle 1 and cycle 2`."""
    outcome = stay.outcome
    if outcome is None:
        told = NOT_LOOKED_AT
    elif outcome.state == FAILED and outcome.unit == CYCLES and outcome.last_intact is not None:
        first, last = (f"{point or 0:.0f}" for point in (outcome.last_intact, outcome.first_failed))
        told = f"failed between cycle {first} and cycle {last}"
    else:
        told = interval_words(outcome, how=False)
    if outcome is not None and outcome.state not in (FAILED, INTACT):
        told = "looked at, but no grade tells whether it is intact"
    return told if short else f"{stay.condition}, {told}"


def look_words(mark: Mark) -> str:
    """`day 7: 3`, the grade after the point; `day 7: no grade`."""
    grade = "no grade" if mark.grade is None else str(mark.grade)
    return f"{point_words(mark.point, mark.unit)}: {grade}"


def left_out_words(found: Timeline) -> str:
    """How many jars the picture has no room for; empty for none."""
    if not found.left_out:
        return ""
    verb = "is" if found.left_out == 1 else "are"
    return f"{plural(found.left_out, 'jar')} of older batches {verb} not drawn."


# Curve --------------------------------------------------------------------------------------------


def curve_title(found: CurvePicture) -> str:
    """`Share of batches intact: SBC, room, separation`."""
    return f"Share of {found.counted} intact: {found.subject}, {found.condition}, {found.event}"


def curve_words(found: CurvePicture) -> str:
    """The curve in sentences."""
    sentences = [f"{curve_title(found)}, by {found.unit}."]
    for line in found.lines:
        sentences.append(f"{line.name}: {line_words(line, found)}.")
    return " ".join(sentences)


def line_words(line: CurveLine, found: CurvePicture, *, stretches: bool = True) -> str:
    """What failed, where the share is not determined, and what is left at the last look."""
    counted = found.counted if line.of != 1 else found.counted.removesuffix("es").removesuffix("s")
    parts = [f"{line.failed} of {line.of} {counted} failed"]
    if line.while_making:
        parts.append(f"{percent(line.while_making)} while making")
    for piece in line.pieces if stretches else ():
        start, end = (point_words(p, found.unit) for p in (piece.start, piece.end))
        if piece.low != piece.high:
            span = f"{percent(piece.low)} and {percent(piece.high)}"
            parts.append(f"somewhere between {span} from {start} to {end}")
    if line.pieces:
        final = line.pieces[-1]
        at = point_words(final.end, found.unit)
        if final.low == final.high:
            parts.append(f"{percent(final.low)} intact until {at}")
        parts.append(bounds_words(line))
        if line.last_intact:
            parts.append(f"{line.watched(final.end)} of {line.of} watched that long")
        parts.append(f"nothing is known after {at}")
    if line.steps and stretches:
        told = [
            f"{percent(one.intact)} on {point_words(one.age, found.unit)}"
            f" (standard error {percent(one.error)})"
            for one in line.steps
        ]
        parts.append(f"looked at on the same days, so by Kaplan and Meier {listed(told)}")
    return "; ".join(parts)


def bounds_words(line: CurveLine) -> str:
    """`the true share then may be 53 to 99 %, at 95 %`; of few that they are too few to say so."""
    if line.bounds is None:
        return "too few for bounds"
    return f"the true share then may be {span_words(*line.bounds)}, at 95 %"


def span_words(low: float, high: float) -> str:
    """`53 to 96 %`, rounded outwards; a bound that is neither none nor all is not rounded to it."""
    first, last = floor(low * 100), ceil(high * 100)
    least = "under 1" if low > 0 and not first else f"{first}"
    return f"{least} to {'over 99' if high < 1 and last == 100 else last} %"


def percent(share: float) -> str:
    """`67 %`; a share that is neither none nor all is never rounded to it."""
    whole = round(share * 100)
    if share > 0 and whole == 0:
        return "under 1 %"
    if share < 1 and whole == 100:
        return "over 99 %"
    return f"{whole} %"


def share_words(low: float, high: float) -> str:
    """`67 %`, or `67 to 100 %`."""
    return percent(low) if low == high else f"{low * 100:.0f} to {high * 100:.0f} %"


# Trend --------------------------------------------------------------------------------------------


def value_words(value: float, digits: int = 4) -> str:
    """A reading with the digits that it needs and no more."""
    return f"{value:.{digits}g}" if abs(value) < 10**digits else f"{value:.0f}"


def trend_title(found: TrendPicture) -> str:
    """`pH of SBC over days`."""
    return f"{found.reading} of {found.subject} over days"


def series_of(found: TrendPicture) -> dict[str, list[TrendPoint]]:
    """The points of each series by age, the series in order of appearance."""
    series: dict[str, list[TrendPoint]] = {}
    for point in found.points:
        series.setdefault(point.series, []).append(point)
    return {name: sorted(points, key=lambda one: one.age) for name, points in series.items()}


def range_words(points: list[TrendPoint], unit: str) -> str:
    """`5.1 to 5.4, day 1 to day 90`."""
    low, high = (value_words(f(p.value for p in points)) for f in (min, max))
    span = low if low == high else f"{low} to {high}"
    first, last = (f"{f(p.age for p in points):.0f}" for f in (min, max))
    days = f"day {first}" if first == last else f"day {first} to day {last}"
    return f"{span} {unit}".strip() + f", {days}"


def trend_words(found: TrendPicture) -> str:
    """The trend in sentences."""
    sentences = [f"{trend_title(found)}, {plural(len(found.points), 'reading')}."]
    for name, points in series_of(found).items():
        sentences.append(f"{name}: {range_words(points, found.unit)}.")
    sentences += [said for line in found.lines if (said := trend_line_words(line, found))]
    sentences += [f"Limit {value_words(value)}: {words}." for value, words in found.limits]
    if found.why:
        sentences.append(f"No line is drawn: {found.why}.")
    return " ".join(sentences)


def trend_line_words(one: TrendLine, found: TrendPicture) -> str:
    """Where a line and its bound begin, and end at the last look; empty for none."""
    line, bound = (until(path, last_look(found)) for path in (one.line, one.bound))
    if not line:
        return ""
    (_, first), (age, last) = line[0], line[-1]
    head = f"The line of {one.name}" if one.name else "The common line"
    told = f"{head} goes from {value_words(first)} to {value_words(last)} on day {age:.0f}"
    if bound:
        told += f", its one-sided bound to {value_words(bound[-1][1])}"
    return f"{told} {found.unit}".strip() + "."
