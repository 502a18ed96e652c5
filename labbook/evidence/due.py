"""Which looks fall due: the protocol's time points for each jar, against the looks there are.

A jar that failed is looked at further, until it is broken (grade 4), spoiled (a jar with mould is
discarded, not opened again), or its maker has seen enough of it. A jar that was moved into a
condition without time points (given away, discarded) is asked for no more. Where several points
were missed, one look at the last of them is asked for: the others can't be made up for.
"""

from __future__ import annotations

import re
from collections.abc import Iterable
from dataclasses import dataclass, replace
from datetime import date, timedelta

from labbook.evidence.failure import FAILED, condition_key
from labbook.evidence.sightings import (
    Sighting,
    age,
    counted_from,
    due_day,
    plain_jar,
    sightings,
    stay_at,
    stays_of,
)
from labbook.model.batch import Batch
from labbook.model.formula import Formula
from labbook.model.jars import Jars, Stability, Stay
from labbook.model.moments import Moment, age_in_days, day_of
from labbook.model.quantities import Quantity, in_digits
from labbook.model.results.looking import RUN, DueLook
from labbook.model.settings import Protocol, TimePoint

OVERDUE, TODAY, COMING = "overdue", "today", "coming"
WEEK = 7
BROKEN = 4
"""The grade at which a jar has nothing more to tell."""

CYCLE_DAYS = 2
"""Days of one cycle where the protocol's words name no hours: a day cold, a day in the room."""


@dataclass(frozen=True, slots=True)
class Watch:
    """One batch as it is watched."""

    batch: Batch
    jars: Jars | None
    stability: Stability | None
    formula: Formula | None
    protocol: Protocol | None


def due_looks(watch: Watch, today: date, *, ahead: int = WEEK) -> tuple[DueLook, ...]:
    """The looks of a batch that are overdue, fall due today, or in the coming days.

    For each jar one overdue or today's, and the next one that is coming. The order of the looks
    there are is immaterial.
    """
    if watch.protocol is None or watch.jars is None or watch.batch.dropped:
        return ()
    seen = sightings(watch.batch, watch.jars, watch.stability, watch.formula)
    failed = {one.jar for one in seen if one.verdict.failed and one.unit != RUN}
    found: list[DueLook] = []
    for jar in dict.fromkeys(plain_jar(watch.batch, stay.jar) for stay in watch.jars.stays):
        stay = stay_at(stays_of(watch.batch, watch.jars, jar), today + timedelta(days=ahead))
        if stay is None or is_done(watch, jar, stay, seen):
            continue
        mine = [s for s in seen if s.jar == jar and _same(s.condition, stay.condition)]
        for one in _points(watch, jar, stay, mine, today, ahead):
            found.append(replace(one, why=_why(watch.batch, one, seen, failed)))
    return tuple(found)


def is_done(watch: Watch, jar: str, stay: Stay, seen: Iterable[Sighting]) -> bool:
    """Whether a jar is asked for no more where it stands.

    It broke (grade 4) or spoiled, anywhere; or its maker said so since it was put there. A sample
    that broke in a centrifuge is not the jar.
    """
    ended = any(
        one.jar == jar
        and one.unit != RUN
        and one.verdict.failed
        and (one.look.grade == BROKEN or one.verdict.groups["microbial"] == FAILED)
        for one in seen
    )
    said = watch.jars.done if watch.jars else ()
    return ended or any(
        plain_jar(watch.batch, one.jar) == jar and age_in_days(stay.since, one.time) >= 0
        for one in said
    )


def _same(one: str, other: str) -> bool:
    return condition_key(one) == condition_key(other)


def _points(
    watch: Watch, jar: str, stay: Stay, mine: list[Sighting], today: date, ahead: int
) -> list[DueLook]:
    """The point to look at now, if any, and the next one within the coming days."""
    protocol = watch.protocol
    points = [p for p in protocol.looks if _same(p.condition, stay.condition)] if protocol else []
    end = today + timedelta(days=ahead)
    start = counted_from(watch.batch, watch.jars, jar, stay.condition, end)
    wanted: list[tuple[date, Quantity | None, int | None, str]] = []
    for point in points:
        wanted += [(day, span, None, point.note or "") for span, day in _spans(point, start, mine)]
        wanted += [(day, None, n, point.note or "") for n, day in _cycles(point, start, mine)]
    wanted.sort(key=lambda one: (one[0], one[2] or 0))
    past = [one for one in wanted if one[0] <= today]
    coming = [one for one in wanted if today < one[0] <= end]
    found = []
    if past:
        # Cycles come one after the other, none can be left out; of missed ages the last one counts.
        chosen = past[0] if past[-1][2] is not None else past[-1]
        missed = len(past) - 1 if chosen[2] is None else 0
        state = TODAY if chosen[0] == today else OVERDUE
        found.append(_due(watch.batch, jar, stay, chosen, state, missed))
    found += [_due(watch.batch, jar, stay, one, COMING, 0) for one in coming[:1]]
    return found


def _spans(point: TimePoint, start: Moment, mine: list[Sighting]) -> list[tuple[Quantity, date]]:
    """Time points after the last one that was looked at, each with its date."""
    reached = max((reached_by(s, point.after) for s in mine if s.look.cycle is None), default=-1.0)
    ages = [(span, float(span.exact("d"))) for span in point.after]
    return [(span, due_day(start, days)) for span, days in ages if days > reached]


def reached_by(sighting: Sighting, points: tuple[Quantity, ...]) -> float:
    """Up to which age a look counts: its planned point, or one that it came close before."""
    planned = sighting.look.planned
    own = float(planned.exact("d")) if planned is not None else 0.0
    near = planned_point(points, sighting.point)
    return max(own, sighting.point, float(near.exact("d")) if near is not None else 0.0)


def _cycles(point: TimePoint, start: Moment, mine: list[Sighting]) -> list[tuple[int, date]]:
    """Cycles that were not looked at yet; the next is counted from the last look."""
    if not point.cycles:
        return []
    done = [s for s in mine if s.look.cycle is not None]
    last = max(done, key=lambda s: s.point, default=None)
    number = last.look.cycle or 0 if last else 0
    begun = last.look.time if last else start
    length = cycle_days(point.cycle)
    return [(n, due_day(begun, length * (n - number))) for n in range(number + 1, point.cycles + 1)]


def cycle_days(words: str | None) -> float:
    """How long one cycle takes by the protocol's words: `24 h at -18 °C, 24 h in the room` is 2."""
    hours = [float(n) for n in re.findall(r"([0-9]+(?:\.[0-9]+)?)\s*h\b", words or "")]
    days = [float(n) for n in re.findall(r"([0-9]+(?:\.[0-9]+)?)\s*d\b", words or "")]
    return (sum(hours) / 24 + sum(days)) or float(CYCLE_DAYS)


def planned_point(points: tuple[Quantity, ...], reached: float) -> Quantity | None:
    """The time point that a look of an age stands for: within a day of it, or a tenth.

    Within the first day a quarter. Common practice, no source.
    """
    near = []
    for span in points:
        days = float(span.exact("d"))
        allowed = max(1.0, days / 10) if days > 1 else days / 4
        if abs(reached - days) <= allowed:
            near.append((abs(reached - days), days, span))
    return min(near, key=lambda one: one[:2])[2] if near else None


def _due(
    batch: Batch,
    jar: str,
    stay: Stay,
    wanted: tuple[date, Quantity | None, int | None, str],
    state: str,
    missed: int,
) -> DueLook:
    day, span, cycle, note = wanted
    return DueLook(
        batch=batch.id,
        short=batch.short,
        code=batch.formula.code,
        version=batch.formula.version,
        trial_of=batch.formula.trial_of,
        jar=jar,
        condition=stay.condition,
        point=span,
        cycle=cycle,
        day=day,
        state=state,
        note=note,
        missed=missed,
    )


def _why(batch: Batch, one: DueLook, seen: tuple[Sighting, ...], failed: set[str]) -> str:
    """Why a jar stands out: it failed, or a sister did, which makes this one the question."""
    if one.jar in failed:
        return "has failed"
    others = {
        s.condition for s in seen if s.jar in failed and s.jar != one.jar and s.verdict.failed
    }
    room = [c for c in others if _same(c, "room")]
    return "its room jar failed" if room and not _same(one.condition, "room") else ""


def asked_for(watch: Watch, jar: str, when: Moment) -> DueLook | None:
    """The point of the protocol that a look of a jar at a moment stands for; None where none is.

    The next cycle where cycles are counted; else an age that was reached and not looked at, or one
    that is close. Looks made after that moment don't count.
    """
    stay = stay_at(stays_of(watch.batch, watch.jars, jar), when)
    if stay is None or watch.protocol is None:
        return None
    seen = sightings(watch.batch, watch.jars, watch.stability, watch.formula)
    mine = [
        s
        for s in seen
        if s.jar == jar
        and _same(s.condition, stay.condition)
        and age_in_days(s.look.time, when) >= 0
    ]
    start = counted_from(watch.batch, watch.jars, jar, stay.condition, when)
    here = day_of(when)
    for point in watch.protocol.looks:
        if not _same(point.condition, stay.condition):
            continue
        if point.cycles:
            left = _cycles(point, start, mine)
            if left:
                n, day = left[0]
                state = TODAY if day == here else OVERDUE if day < here else COMING
                return _due(watch.batch, jar, stay, (day, None, n, point.note or ""), state, 0)
        left_spans = _spans(point, start, mine)
        near = planned_point(tuple(span for span, _ in left_spans), age(start, when))
        for span, day in left_spans:
            if span == near:
                state = TODAY if day == here else OVERDUE if day < here else COMING
                return _due(watch.batch, jar, stay, (day, span, None, point.note or ""), state, 0)
    now = _points(watch, jar, stay, mine, here, 0)
    return now[0] if now else None


def standing_in(watch: Watch, condition: str, today: date) -> tuple[DueLook, ...]:
    """A look off the plan at each jar of a batch that stands in a condition today.

    For what no plan foresees: a heat wave, a broken freezer. Jars that are done are left out.
    """
    if watch.jars is None or watch.batch.dropped:
        return ()
    seen = sightings(watch.batch, watch.jars, watch.stability, watch.formula)
    found = []
    for jar in dict.fromkeys(plain_jar(watch.batch, stay.jar) for stay in watch.jars.stays):
        stay = stay_at(stays_of(watch.batch, watch.jars, jar), today)
        if stay is None or not _same(stay.condition, condition):
            continue
        if age_in_days(stay.since, today) >= 0 and not is_done(watch, jar, stay, seen):
            found.append(_due(watch.batch, jar, stay, (today, None, None, ""), TODAY, 0))
    return tuple(found)


def in_a_row(looks: Iterable[DueLook]) -> tuple[DueLook, ...]:
    """Looks by date, then the youngest jars first, a batch's jars together."""
    return tuple(sorted(looks, key=_place))


def _place(one: DueLook) -> tuple[date, float, str, tuple[int, str]]:
    point = float(one.point.exact("d")) if one.point is not None else float(one.cycle or 0)
    return (one.day, point, one.batch, _number(one.jar))


def _number(jar: str) -> tuple[int, str]:
    number = in_digits(jar)
    return (10**9 if number is None else number, jar)
