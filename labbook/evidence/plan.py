"""The whole plan of a batch's looks: each that its protocol asks for, and what became of it."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date

from labbook.evidence.due import (
    OVERDUE,
    TODAY,
    Watch,
    cycle_days,
    due_looks,
    planned_point,
)
from labbook.evidence.failure import condition_key
from labbook.evidence.sightings import (
    Sighting,
    counted_from,
    due_day,
    plain_jar,
    sightings,
    stay_at,
    stays_of,
)
from labbook.model.batch import Stay
from labbook.model.moments import Moment, day_of
from labbook.model.quantities import Quantity
from labbook.model.results.planning import (
    COMING,
    DONE,
    DUE,
    ENDED,
    MISSED,
    PlannedJar,
    PlannedLook,
)
from labbook.model.settings import TimePoint


@dataclass(frozen=True, slots=True)
class _Jar:
    """One jar in its condition: its looks there, and what is due of it now."""

    start: Moment
    mine: tuple[Sighting, ...]
    failed: bool
    now: dict[tuple[float | None, int | None], str]
    today: date


def plan_of(watch: Watch, today: date) -> tuple[PlannedJar, ...]:
    """Every look that the protocol asks for, of each jar where it stands today.

    Agrees with `due_looks`: what falls due there is due or overdue here, and nothing else is. A jar
    that failed is asked for no more; what would have come is `ended`.
    """
    if watch.jars is None:
        return ()
    seen = sightings(watch.batch, watch.jars, watch.stability, watch.formula)
    failed = {one.jar for one in seen if one.verdict.failed}
    due = due_looks(watch, today, ahead=0)
    found = []
    for jar in dict.fromkeys(plain_jar(watch.batch, stay.jar) for stay in watch.jars.stays):
        stay = stay_at(stays_of(watch.batch, watch.jars, jar), today)
        if stay is None:
            continue
        held = _Jar(
            start=counted_from(watch.batch, watch.jars, jar, stay.condition, today),
            mine=tuple(s for s in seen if s.jar == jar and _same(s.condition, stay.condition)),
            failed=jar in failed,
            now={_key(one.point, one.cycle): one.state for one in due if one.jar == jar},
            today=today,
        )
        found.append(_planned_jar(watch, jar, stay, held))
    return tuple(found)


def _planned_jar(watch: Watch, jar: str, stay: Stay, held: _Jar) -> PlannedJar:
    points = watch.protocol.looks if watch.protocol else ()
    looks: list[PlannedLook] = []
    for point in points:
        if _same(point.condition, stay.condition):
            looks += [_by_age(point, span, held) for span in point.after]
            cycles = range(1, (point.cycles or 0) + 1)
            looks += [_by_cycle(point, number, held) for number in cycles]
    looks.sort(key=lambda one: (_days(one.point), one.cycle or 0))
    return PlannedJar(
        short=watch.batch.short,
        jar=jar,
        condition=stay.condition,
        since=day_of(held.start),
        looks=tuple(looks),
    )


def _same(one: str, other: str) -> bool:
    return condition_key(one) == condition_key(other)


def _days(span: Quantity | None) -> float:
    return float(span.exact("d")) if span is not None else 0.0


def _key(span: Quantity | None, cycle: int | None) -> tuple[float | None, int | None]:
    return (None if span is None else _days(span), cycle)


def _by_age(point: TimePoint, span: Quantity, held: _Jar) -> PlannedLook:
    day = due_day(held.start, _days(span))
    made = [s for s in held.mine if s.look.cycle is None and _stands_for(s, point, span)]
    if made:
        state, day = DONE, min(day_of(s.look.time) for s in made)
    else:
        state = _state(held, _key(span, None), late=day <= held.today)
    return PlannedLook(point=span, cycle=None, day=day, state=state, note=point.note or "")


def _stands_for(one: Sighting, point: TimePoint, span: Quantity) -> bool:
    """Whether a look was made for an age: the planned one that it names, or one that it is near."""
    wanted = (one.look.planned, planned_point(point.after, one.point))
    return any(held is not None and _days(held) == _days(span) for held in wanted)


def _by_cycle(point: TimePoint, number: int, held: _Jar) -> PlannedLook:
    counted = [s for s in held.mine if s.look.cycle is not None]
    made = [s for s in counted if s.look.cycle == number]
    last = max(counted, key=lambda s: s.point, default=None)
    reached = last.look.cycle or 0 if last else 0
    begun = last.look.time if last else held.start
    if made:
        state, day = DONE, min(day_of(s.look.time) for s in made)
    elif number < reached:
        state, day = MISSED, day_of(begun)
    else:
        day = due_day(begun, cycle_days(point.cycle) * (number - reached))
        # A later cycle waits for the one before it, however long ago it could have been.
        state = _state(held, _key(None, number), late=False)
    return PlannedLook(point=None, cycle=number, day=day, state=state, note=point.note or "")


def _state(held: _Jar, key: tuple[float | None, int | None], *, late: bool) -> str:
    if held.failed:
        return ENDED
    now = held.now.get(key, "")
    if now in (TODAY, OVERDUE):
        return DUE if now == TODAY else OVERDUE
    return MISSED if late else COMING
