"""Looks as they count: corrected, without the struck ones, each with its condition and its age.

Ages count from filling, of the bulk from combining (else from making); under a condition into which
a jar was moved later, from when it was put there. Whole days by the calendar, so that two jars
looked at on one evening have one age; within the first day in hours.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, fields, replace
from datetime import date, timedelta
from functools import cache
from typing import Any, get_args, get_type_hints

from labbook.evidence.failure import Verdict, condition_key, is_run, judge
from labbook.evidence.runs import run_of
from labbook.model.batch import Batch
from labbook.model.fields import Parsed, key_of
from labbook.model.formula import Formula
from labbook.model.identity import kept_for_same
from labbook.model.jars import Jar, Jars, Look, Stability, Stay
from labbook.model.moments import Moment, age_in_days, day_of, in_order
from labbook.model.results.looking import CYCLES, DAYS, RUN
from labbook.trade.standing import standing

BULK = "bulk"
UNKNOWN = "not written down"


# Looks as they stand after corrections -----------------------------------------------------------


@cache
def _parsers() -> Mapping[str, Parsed]:
    """The parser of each key of a look, by the key as it stands in the file."""
    found: dict[str, Parsed] = {}
    waiting: list[tuple[str, Any]] = list(get_type_hints(Look, include_extras=True).items())
    while waiting:
        name, hint = waiting.pop()
        marks = [mark for mark in getattr(hint, "__metadata__", ()) if isinstance(mark, Parsed)]
        if marks:
            found[key_of(name)] = marks[0]
        else:
            waiting += [(name, part) for part in get_args(hint) if part is not Ellipsis]
    return found


def look_keys() -> tuple[str, ...]:
    """The keys of a look that a correction may change."""
    return tuple(key_of(field.name) for field in fields(Look) if field.name != "id")


def corrected(look: Look, key: str, text: str | None) -> Look:
    """The look with one key as corrected; None or an empty text takes the value away.

    Raises:
        ValueError: no such key, or no value that it can have; the message is for the maker.
    """
    field = next((f.name for f in fields(Look) if key_of(f.name) == key and key != "id"), None)
    if field is None:
        raise ValueError(f"a look has no {key!r}; it has: {', '.join(look_keys())}")
    typed = (text or "").strip()
    if not typed and field in ("jar", "time"):
        raise ValueError(f"a look has to have its {key}")
    parse = _parsers()[key].parse
    if field == "modes":
        value: Any = tuple(parse(part.strip()) for part in typed.split(",") if part.strip())
    else:
        value = parse(typed) if typed else None
    return replace(look, **{field: value})


def all_looks(stability: Stability | None) -> tuple[Look, ...]:
    """Every look after its corrections, struck ones too.

    A correction that can't be read makes its value unknown; without its jar or time a look keeps
    the first ones.
    """
    if stability is None:
        return ()
    found = {look.id: look for look in stability.looks}
    for correction in stability.corrections:
        look = found.get(correction.of)
        if look is None or not correction.key:
            continue
        try:
            found[look.id] = corrected(look, correction.key, correction.now)
        except ValueError:
            if correction.key in look_keys() and correction.key not in ("jar", "time"):
                found[look.id] = corrected(look, correction.key, None)
    return tuple(found.values())


def current_looks(stability: Stability | None) -> tuple[Look, ...]:
    """The looks that count: corrected, and not struck."""
    return tuple(look for look in all_looks(stability) if look.struck is None)


# Where a jar stood, and since when ---------------------------------------------------------------


def plain_jar(batch: Batch, jar: str) -> str:
    """A jar's own name, `1`, also where the file says `4M.1`."""
    return jar[len(batch.short) + 1 :] if jar.upper().startswith(f"{batch.short}.") else jar


def combined_at(batch: Batch) -> Moment:
    """When the phases came together, else when the batch was made."""
    for step in standing(batch).steps:
        if step.plan and step.plan.do == "combine" and step.done:
            when = step.done.started or step.done.ended
            if when is not None:
                return when
    return batch.made


def filled_at(batch: Batch, jar: Jar | None) -> Moment:
    """When a jar was filled; where that is not written down, when its batch was combined."""
    return jar.filled if jar is not None and jar.filled is not None else combined_at(batch)


def jars_by_name(batch: Batch, jars: Jars | None) -> dict[str, Jar]:
    """The jars by their own names."""
    return {plain_jar(batch, jar.jar): jar for jar in jars.jars} if jars else {}


def stays_of(batch: Batch, jars: Jars | None, jar: str) -> list[Stay]:
    """Where a jar stood, in order of time."""
    mine = [s for s in jars.stays if plain_jar(batch, s.jar) == jar] if jars else []
    return sorted(mine, key=lambda stay: in_order(stay.since))


def stay_at(stays: list[Stay], when: Moment) -> Stay | None:
    """The stay in force at a moment; the first one before it began."""
    begun = [stay for stay in stays if _not_later(stay.since, when)]
    return begun[-1] if begun else next(iter(stays), None)


def _not_later(one: Moment, other: Moment) -> bool:
    return age_in_days(one, other) >= 0


def counted_from(batch: Batch, jars: Jars | None, jar: str, condition: str, when: Moment) -> Moment:
    """From when on the age of a jar in a condition counts."""
    if jar == BULK:
        return combined_at(batch)
    filled = filled_at(batch, jars_by_name(batch, jars).get(jar))
    stays = stays_of(batch, jars, jar)
    same = [condition_key(stay.condition) == condition_key(condition) for stay in stays]
    there = [n for n, stay in enumerate(stays) if same[n] and _not_later(stay.since, when)]
    if not there:
        return filled
    first = there[-1]
    while first and same[first - 1]:  # from one shelf to another is no other condition
        first -= 1
    return stays[first].since if first else filled


def age(start: Moment, when: Moment) -> float:
    """Whole days by the calendar; on the first day the hours, as a fraction of it."""
    whole = (day_of(when) - day_of(start)).days
    return float(whole) if whole > 0 else max(0.0, round(age_in_days(start, when), 3))


def due_day(start: Moment, days: float) -> date:
    """The date on which an age is reached; the calendar's last where it ends before that."""
    if days < 1:
        return day_of(start + timedelta(days=days))
    first = day_of(start)
    return first + timedelta(int(min(days, (date.max - first).days)))


# Sightings ---------------------------------------------------------------------------------------


@dataclass(frozen=True, slots=True)
class Sighting:
    """One look in its place: jar, condition, age or cycle, and how it is judged."""

    look: Look
    jar: str
    condition: str
    unit: str
    point: float
    verdict: Verdict
    while_making: bool = False


def _while_making(batch: Batch, jar: str, look: Look) -> bool:
    if jar != BULK:
        return False
    if batch.closed is not None:
        return in_order(look.time) <= in_order(batch.closed)
    return age_in_days(combined_at(batch), look.time) <= 1


@kept_for_same
def sightings(
    batch: Batch, jars: Jars | None, stability: Stability | None, formula: Formula | None
) -> tuple[Sighting, ...]:
    """All looks that count, judged by the formula's limits, in order of jar and age.

    Where a condition is counted in cycles, a look without its cycle can't be placed and is left
    out. A look at the bulk while making stands at time 0. A run in a centrifuge has no age: it is a
    test that fails or doesn't, and stands at 1.
    """
    placed = []
    for look in current_looks(stability):
        jar = plain_jar(batch, look.jar)
        stay = stay_at(stays_of(batch, jars, jar), look.time)
        condition = look.condition or (stay.condition if stay else None)
        if condition and is_run(condition):
            condition = run_of(look).condition
        placed.append((look, jar, condition or (BULK if jar == BULK else UNKNOWN)))
    in_cycles = {condition_key(c) for look, _, c in placed if look.cycle is not None}
    found = []
    for look, jar, condition in placed:
        run = is_run(condition)
        cycles = condition_key(condition) in in_cycles and not run
        if cycles and look.cycle is None:
            continue
        start = counted_from(batch, jars, jar, condition, look.time)
        making = not run and _while_making(batch, jar, look)
        unit = RUN if run else CYCLES if cycles else DAYS
        if run:
            point = 1.0
        else:
            point = float(look.cycle or 0) if cycles else 0.0 if making else age(start, look.time)
        verdict = judge(look, formula, condition, point, unit)
        found.append(Sighting(look, jar, condition, unit, point, verdict, making))
    return tuple(sorted(found, key=lambda s: (s.jar, s.condition, s.point, s.look.id)))
