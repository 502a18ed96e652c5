"""The jars of a batch, or of a formula's batches, as rows over days since filling."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass

from labbook.evidence.failure import GROUPS, condition_key
from labbook.evidence.outcomes import in_order_of_telling, jar_outcome
from labbook.evidence.sightings import (
    BULK,
    UNKNOWN,
    Sighting,
    age,
    combined_at,
    filled_at,
    jars_by_name,
    plain_jar,
    sightings,
    stays_of,
)
from labbook.model.batch import Batch
from labbook.model.formula import Formula
from labbook.model.jars import Jars, Stability
from labbook.model.moments import Moment, in_order
from labbook.model.results.looking import FAILED, INTACT, NOT_WATCHED, RUN, JarOutcome, jar_name
from labbook.model.results.pictures import JarGroup, JarRow, JarStay, Mark, Timeline

MOST_ROWS = 30
"""Rows that a picture of a formula takes; the jars of older batches are told as a number."""

Horizon = Mapping[tuple[str, str], float]
"""For a condition and its unit the age by which another one had failed."""


@dataclass(frozen=True, slots=True)
class Watched:
    """A batch with its jars and looks, and the formula whose limits judge."""

    batch: Batch
    jars: Jars | None = None
    stability: Stability | None = None
    formula: Formula | None = None


def batch_timeline(watched: Watched, horizon: Horizon | None = None) -> Timeline:
    """The jars of one batch, in the order of their file.

    Args:
        watched: the batch.
        horizon: what it took others of its formula to fail, by `horizon_of`; it says which jar is
            too young.
    """
    rows = jar_rows(watched, horizon)
    batch = watched.batch
    return Timeline(
        subject=f"{batch.short}, {batch.formula.name}",
        groups=(JarGroup(heading="", rows=rows),) if rows else (),
    )


def formula_timeline(
    subject: str, batches: Sequence[Watched], *, condition: str = "", most: int = MOST_ROWS
) -> Timeline:
    """The jars of a formula's batches under their conditions, the newest batch first.

    Args:
        subject: what the picture is called after, `SBC`.
        batches: its batches, in any order.
        condition: only this one; empty for all.
        most: rows at most; jars of older batches are left out, and counted.
    """
    order = sorted(batches, key=lambda one: (in_order(one.batch.made), one.batch.id), reverse=True)
    bare = [row for one in order for row in jar_rows(one)]
    horizon = horizon_of(bare)
    rows = [row for one in order for row in jar_rows(one, horizon) if row.looks]
    if condition:
        key = condition_key(condition)
        rows = [row for row in rows if any(condition_key(s.condition) == key for s in row.stays)]
    kept = rows[:most]
    groups = []
    for name in in_order_of_telling(row.stays[0].condition for row in kept):
        key = condition_key(name)
        mine = tuple(row for row in kept if condition_key(row.stays[0].condition) == key)
        groups.append(JarGroup(heading=name, rows=mine))
    return Timeline(subject=subject, groups=tuple(groups), left_out=len(rows) - len(kept))


def horizon_of(rows: Iterable[JarRow]) -> dict[tuple[str, str], float]:
    """For each condition and unit the latest age by which a jar had failed."""
    found: dict[tuple[str, str], float] = {}
    for row in rows:
        for outcome in (stay.outcome for stay in row.stays):
            if outcome is not None and outcome.first_failed is not None:
                key = (condition_key(outcome.condition), outcome.unit)
                found[key] = max(found.get(key, 0.0), outcome.first_failed)
    return found


def jar_rows(watched: Watched, horizon: Horizon | None = None) -> tuple[JarRow, ...]:
    """The jars of a batch, in the order of their file; the bulk last, where it was looked at."""
    batch, jars = watched.batch, watched.jars
    every = sightings(batch, jars, watched.stability, watched.formula)
    seen = [one for one in every if one.unit != RUN]  # a spun sample is not the jar
    names = [plain_jar(batch, jar.jar) for jar in jars.jars] if jars else []
    names += [plain_jar(batch, stay.jar) for stay in jars.stays] if jars else []
    names += sorted({one.jar for one in seen} - {BULK})
    names += [BULK] if any(one.jar == BULK for one in seen) else []
    return tuple(
        _row(watched, name, [one for one in seen if one.jar == name], horizon or {})
        for name in dict.fromkeys(names)
    )


def _row(watched: Watched, jar: str, seen: list[Sighting], horizon: Horizon) -> JarRow:
    batch = watched.batch
    known = jars_by_name(batch, watched.jars).get(jar)
    start = combined_at(batch) if jar == BULK else filled_at(batch, known)
    marks = sorted((_mark(one, start) for one in seen), key=lambda mark: (mark.day, mark.point))
    first = next((mark for mark in marks if mark.failed), None)
    stays = _stays(watched, jar, seen, start)
    return JarRow(
        name=jar_name(batch.short, jar),
        of=batch.formula.name,
        stays=stays,
        looks=tuple(marks),
        failed_from=_failed_from(first, marks, stays) if first else None,
        failed_at=first.day if first else None,
        young=first is None and bool(marks) and any(_young(s.outcome, horizon) for s in stays),
        while_making=any(one.while_making and one.verdict.failed for one in seen),
    )


def _mark(one: Sighting, start: Moment) -> Mark:
    return Mark(
        day=0.0 if one.while_making else age(start, one.look.time),
        point=one.point,
        unit=one.unit,
        grade=one.look.grade,
        failed=one.verdict.failed,
        condition=one.condition,
        modes=one.look.modes,
    )


def _stays(watched: Watched, jar: str, seen: list[Sighting], start: Moment) -> tuple[JarStay, ...]:
    """Where a jar stood; from one shelf to another is no other condition."""
    found: dict[str, tuple[str, float]] = {}
    order: list[str] = []
    for stay in stays_of(watched.batch, watched.jars, jar):
        key = condition_key(stay.condition)
        if order[-1:] != [key]:
            order.append(key)
            found.setdefault(key, (stay.condition, age(start, stay.since)))
    for one in seen:
        found.setdefault(condition_key(one.condition), (one.condition, age(start, one.look.time)))
    placed = sorted(found.items(), key=lambda item: item[1][1])
    stays = []
    for number, (key, (condition, since)) in enumerate(placed):
        here = [one for one in seen if condition_key(one.condition) == key]
        outcome = _outcome(watched.batch, jar, here)
        stays.append(JarStay(condition=condition, start=since if number else 0.0, outcome=outcome))
    return tuple(stays) or (JarStay(condition=BULK if jar == BULK else UNKNOWN, start=0.0),)


def _outcome(batch: Batch, jar: str, here: list[Sighting]) -> JarOutcome | None:
    """What one condition comes to over all groups of failure: the first failure, else intact."""
    if not here:
        return None
    found = [jar_outcome(batch, jar, here, group) for group in GROUPS]
    failed = [one for one in found if one.state == FAILED]
    if failed:
        return min(failed, key=lambda one: one.first_failed or 0.0)
    intact = [one for one in found if one.state == INTACT]
    return max(intact, key=lambda one: one.last_intact or 0.0, default=found[0])


def _failed_from(first: Mark, marks: list[Mark], stays: tuple[JarStay, ...]) -> float:
    """The day of the last look before a failure that found it intact, else of the stay's start."""
    key = condition_key(first.condition)
    stay = next((one for one in stays if condition_key(one.condition) == key), None)
    last = stay.outcome.last_intact if stay and stay.outcome else None
    before = [
        mark.day
        for mark in marks
        if mark.point == last and condition_key(mark.condition) == key and mark.day <= first.day
    ]
    return before[-1] if before else min(stay.start if stay else 0.0, first.day)


def _young(outcome: JarOutcome | None, horizon: Horizon) -> bool:
    if outcome is None or outcome.state == NOT_WATCHED:
        return False
    wanted = horizon.get((condition_key(outcome.condition), outcome.unit), 0.0)
    return (outcome.last_intact or 0.0) < wanted
