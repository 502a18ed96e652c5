"""One reading of a formula's jars over time, like with like, and what it carries."""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence
from datetime import date

from labbook.evidence.failure import condition_key
from labbook.evidence.outcomes import in_order_of_telling
from labbook.evidence.reading_lines import lines_of
from labbook.evidence.readings import MAKING, alike, rows_of, series_of
from labbook.evidence.speeding import speeding
from labbook.model.errors import UnknownName
from labbook.model.formula import Formula
from labbook.model.results.common import Next
from labbook.model.results.trends import ReadingPoint, ReadingTrend


def reading_trend(
    formula: Formula,
    every: Sequence[tuple[str, ReadingPoint]],
    day: date,
    *,
    reading: str = "",
    condition: str = "",
    by_batch: bool = False,
) -> ReadingTrend:
    """One reading of a formula's jars in one condition, with what it carries.

    Args:
        formula: whose limits are named.
        every: all readings of its batches, each with its name (`points_of`).
        day: the day on which it is told.
        reading: the kind; empty takes the one that was read most often.
        condition: where the jars stood; empty takes the room, else the first that has readings.
        by_batch: one series for each batch, of all its jars there.

    Raises:
        UnknownName: no such reading or condition.
    """
    jars = Counter(name.casefold() for name, point in every if point.jar)
    spelled = {name.casefold(): name for name, _ in every}
    readings = tuple((spelled[key], count) for key, count in jars.most_common())
    empty = ReadingTrend(
        code=formula.code, title=formula.title, day=day, reading=reading, unit="",
        condition=condition, by_batch=by_batch, readings=readings,
        then=(Next(f"labbook outcomes {formula.code}"),),
    )  # fmt: skip
    if not readings:
        return empty
    chosen = _chosen(reading, readings)
    mine = [point for name, point in every if name.casefold() == chosen.casefold()]
    return _told(empty, formula, chosen, condition, mine)


def _chosen(reading: str, readings: tuple[tuple[str, int], ...]) -> str:
    if not reading:
        return readings[0][0]
    found = next((name for name, _ in readings if name.casefold() == reading.casefold()), "")
    if not found:
        have = ", ".join(name for name, _ in readings)
        raise UnknownName(f"No jar of it has a reading {reading!r}.", mend=f"There is: {have}")
    return found


def _told(
    empty: ReadingTrend, formula: Formula, chosen: str, wanted: str, mine: list[ReadingPoint]
) -> ReadingTrend:
    conditions = in_order_of_telling(p.condition for p in mine if p.jar)
    named = [name for name in conditions if condition_key(name) == condition_key(wanted)]
    if wanted and not named:
        raise UnknownName(
            f"No jar in {wanted!r} has a reading {chosen!r}.",
            mend=f"They stood in: {', '.join(conditions)}",
        )
    here = (named or list(conditions))[0]
    # Readings of the making are where every jar began, whatever condition it went into.
    asked = [p for p in mine if condition_key(p.condition) in (condition_key(here), MAKING)]
    like, apart, silent = alike(chosen, asked, emulsion=formula.emulsion)
    series = series_of(like, by_batch=empty.by_batch)
    unit = like[0].unit if like else ""
    lines, said = lines_of(chosen, series, unit)
    faster = speeding(chosen, formula.emulsion, mine)
    unknown = [f"Of none is {what} written down: they may differ in it." for what in silent]
    limits = [
        one
        for one in formula.acceptance
        if one.reading
        and one.reading.casefold() == chosen.casefold()
        and condition_key(one.condition) == condition_key(here)
    ]
    return ReadingTrend(
        code=empty.code, title=empty.title, day=empty.day, reading=chosen, unit=unit,
        condition=here, by_batch=empty.by_batch, series=series, rows=rows_of(series), apart=apart,
        lines=lines, limits=(limits[0].from_, limits[0].to) if limits else (None, None),
        said=tuple(one for one in (*said, faster, *unknown) if one), readings=empty.readings,
        conditions=conditions,
        then=empty.then,
    )  # fmt: skip
