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
    is_done,
    planned_point,
    reached_by,
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
from labbook.model.jars import Stay
from labbook.model.moments import Moment, day_of
from labbook.model.quantities import Quantity
from labbook.model.results.planning import (
    COMING,
    DONE,
    DUE,
    ENDED,
    MISSED,
    OffPlan,
    PlannedJar,
    PlannedLook,
)
from labbook.model.settings import TimePoint


@dataclass(frozen=True, slots=True)
class _Jar:
    """One jar in its condition: its looks there, and what is due of it now."""

    start: Moment
    mine: tuple[Sighting, ...]
    done: bool
    now: dict[tuple[float | None, int | None], str]
    today: date


def plan_of(watch: Watch, today: date) -> tuple[PlannedJar, ...]:
    """Every look that the protocol asks for, of each jar where it stands today.

    Agrees with `due_looks`: what falls due there is due or overdue here, and nothing else is. Of a
    jar that is done what would have come is `ended`. Looks that stand for no point of the plan are
    told beside it.
    """
    if watch.jars is None:
        return ()
    seen = sightings(watch.batch, watch.jars, watch.stability, watch.formula)
    due = due_looks(watch, today, ahead=0)
    found = []
    for jar in dict.fromkeys(plain_jar(watch.batch, stay.jar) for stay in watch.jars.stays):
        stay = stay_at(stays_of(watch.batch, watch.jars, jar), today)
        if stay is None:
            continue
        held = _Jar(
            start=counted_from(watch.batch, watch.jars, jar, stay.condition, today),
            mine=tuple(s for s in seen if s.jar == jar and _same(s.condition, stay.condition)),
            done=is_done(watch, jar, stay, seen),
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
    asked = _asked(held, [p for p in points if _same(p.condition, stay.condition)])
    return PlannedJar(
        short=watch.batch.short,
        jar=jar,
        condition=stay.condition,
        since=day_of(held.start),
        looks=tuple(looks),
        off_plan=tuple(_off_plan(one) for one in held.mine if one.look.id not in asked),
    )


def _asked(held: _Jar, points: list[TimePoint]) -> set[str]:
    """The looks that stand for a point of the plan; of several near one age the nearest does."""
    found = {
        s.look.id for s in held.mine if s.look.cycle is not None and any(p.cycles for p in points)
    }
    for point in points:
        for span in point.after:
            mine = [s for s in held.mine if s.look.cycle is None and _stands_for(s, point, span)]
            named = [s for s in mine if s.look.planned is not None]
            near = min(mine, key=lambda s: abs(s.point - _days(span)), default=None)
            found |= {s.look.id for s in named or ([near] if near else [])}
    return found


def _off_plan(one: Sighting) -> OffPlan:
    return OffPlan(
        point=one.point, unit=one.unit, day=day_of(one.look.time), note=one.look.note or ""
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
        late = day <= held.today or _days(span) <= _reached(point, held)
        state = _state(held, _key(span, None), late=late)
    return PlannedLook(point=span, cycle=None, day=day, state=state, note=point.note or "")


def _stands_for(one: Sighting, point: TimePoint, span: Quantity) -> bool:
    """Whether a look was made for an age: the planned one that it names, or one that it is near."""
    wanted = (one.look.planned, planned_point(point.after, one.point))
    return any(held is not None and _days(held) == _days(span) for held in wanted)


def _reached(point: TimePoint, held: _Jar) -> float:
    """Up to which age looks were made, or meant to be made; what lies before is over."""
    ages = (reached_by(s, point.after) for s in held.mine if s.look.cycle is None)
    return max(ages, default=-1.0)


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
    if held.done:
        return ENDED
    now = held.now.get(key, "")
    if now in (TODAY, OVERDUE):
        return DUE if now == TODAY else OVERDUE
    return MISSED if late else COMING
