"""The entry that a look becomes in its batch's file: its condition, and what it stands for."""

from __future__ import annotations

from dataclasses import fields, replace
from typing import TYPE_CHECKING, Any

from labbook.evidence.due import Watch, asked_for
from labbook.evidence.failure import CENTRIFUGE, condition_key
from labbook.evidence.runs import NEVER, Run, as_before, run_of
from labbook.evidence.sightings import (
    BULK,
    combined_at,
    filled_at,
    jars_by_name,
    sightings,
    stay_at,
    stays_of,
)
from labbook.model.batch import Batch
from labbook.model.errors import NotAllowed
from labbook.model.ids import next_entry_id
from labbook.model.jars import Jar, Look, Stay
from labbook.model.moments import Moment, age_in_days, day_of, in_order
from labbook.model.quantities import Quantity
from labbook.show.outcomes import point_words
from labbook.work.bench import Bench
from labbook.work.due import watch_of
from labbook.work.look_remarks import again
from labbook.work.outcome_counts import runs_for
from labbook.work.outcomes import batches_of
from labbook.work.seeing import Seen

if TYPE_CHECKING:
    from labbook.work.look import Named


def look_entry(
    bench: Bench, batch: Batch, named: Named, seen: Seen, instead_of: str
) -> tuple[dict[str, Any], list[str]]:
    """The entry of a look, and what to remark about it.

    Args:
        bench: the notebook.
        batch: the jar's.
        named: the jar, or the bulk.
        seen: what was seen.
        instead_of: the id of the look that this one replaces; empty for none.

    Raises:
        NotAllowed: the jar was filled after that day.
    """
    when = seen.time or bench.now
    jars = bench.snapshot.jars.get(batch.id)
    stability = bench.snapshot.stability.get(batch.id)
    _guard_time(batch, named, when, jars_by_name(batch, jars).get(named.jar))
    held = stability.looks if stability else ()
    head = {
        "id": next_entry_id("o", [one.id for one in held]),
        "jar": named.as_written,
        "time": when,
    }
    if seen.spun is not None:
        entry = {**head, "condition": CENTRIFUGE, **_seen_keys(seen)}
        return entry, [*seen.remarks, *_run_remarks(bench, batch, entry)]
    stay = stay_at(stays_of(batch, jars, named.jar), when)
    watch = watch_of(bench, batch)
    if instead_of and stability is not None:
        kept = tuple(one for one in held if one.id != instead_of)
        watch = replace(watch, stability=replace(stability, looks=kept))
    wanted = asked_for(watch, named.jar, when)
    cycle = _cycle(watch, named, stay, seen, wanted.cycle if wanted else None)
    place = {
        "planned": wanted.point if wanted and cycle is None else None,
        "cycle": cycle,
        "condition": stay.condition if stay else None,
    }
    entry = {**head, **{k: v for k, v in place.items() if v is not None}, **_seen_keys(seen)}
    return entry, [*seen.remarks, *again(held, named, seen, when, instead_of)]


def _seen_keys(seen: Seen) -> dict[str, Any]:
    """What was seen, by the keys of a look; what was not said has none."""
    from labbook.notebook.emit import Word

    found: dict[str, Any] = {
        "grade": seen.grade,
        "modes": [Word(mode) for mode in seen.modes] or None,
        "extent": seen.extent or None,
        "layer": seen.layer,
        "rest": seen.rest,
        "at": seen.at,
        "speed": seen.speed,
        "radius": seen.radius,
        "spun": seen.spun,
        "reading": seen.reading or None,
        "value": seen.value,
        "unit": seen.unit or None,
        "by": seen.by or None,
        "who": seen.who or None,
        "known from": Word(seen.known_from) if seen.known_from else None,
        "note": seen.note or None,
    }
    return {key: value for key, value in found.items() if value is not None}


def with_point(entry: dict[str, Any], said: str) -> str:
    """A look in words with its place before it: `room, day 7: intact`, `room, off the plan: …`."""
    place = str(entry.get("condition", ""))
    if "spun" in entry:
        return f"{place}, {_run(entry).words}: {said}"
    if "cycle" in entry:
        return f"{place}, cycle {entry['cycle']}: {said}"
    planned = entry.get("planned")
    point = point_words(float(planned.exact("d")), "") if isinstance(planned, Quantity) else ""
    point = point or ("off the plan" if place else "")
    return f"{', '.join(part for part in (place, point) if part)}: {said}".removeprefix(": ")


def _run(entry: dict[str, Any]) -> Run:
    keys = {field.name for field in fields(Look)}
    return run_of(Look(**{k: v for k, v in entry.items() if k in keys}))


def _run_remarks(bench: Bench, batch: Batch, entry: dict[str, Any]) -> list[str]:
    """That a run stands for no days, and what to set to spin as hard as the formula's last one."""
    before: list[Run] = []
    for other in batches_of(bench, batch.formula.id):
        before += runs_for(bench, other)
    before.sort(key=lambda one: in_order(one.look.time))
    told = as_before(_run(entry), before)
    return [NEVER, *([told] if told else [])]


def _cycle(
    watch: Watch, named: Named, stay: Stay | None, seen: Seen, wanted: int | None
) -> int | None:
    """The cycle of a look: as typed, as asked for, else the last that was looked at.

    Where cycles are counted, a look without one has no place in the row.
    """
    if seen.cycle is not None or wanted is not None or stay is None:
        return seen.cycle if seen.cycle is not None else wanted
    key = condition_key(stay.condition)
    done = [
        one.look.cycle
        for one in sightings(watch.batch, watch.jars, watch.stability, watch.formula)
        if one.jar == named.jar
        and condition_key(one.condition) == key
        and one.look.cycle is not None
    ]
    return max(done, default=None)


def _guard_time(batch: Batch, named: Named, when: Moment, jar: Jar | None) -> None:
    start = combined_at(batch) if named.jar == BULK else filled_at(batch, jar)
    early = day_of(when) < day_of(start) if named.jar == BULK else age_in_days(start, when) < 0
    if early:
        done = "made" if named.jar == BULK else "filled"
        raise NotAllowed(
            f"{named.name} was {done} on {day_of(start).isoformat()}, after {day_of(when)}.",
            mend="Look at the day: --made 2026-03-01",
        )
