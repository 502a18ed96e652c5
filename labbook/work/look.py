"""`look`: one observation of one jar, its correction, and a jar put somewhere else."""

from __future__ import annotations

from dataclasses import dataclass, replace
from datetime import date
from pathlib import PurePath
from typing import TYPE_CHECKING, Any

from labbook.evidence.due import Watch, asked_for
from labbook.evidence.failure import condition_key
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
from labbook.model.errors import NotAllowed, Unclear, UnknownName
from labbook.model.ids import matching_batches, next_entry_id
from labbook.model.jars import Stay
from labbook.model.moments import Moment, MomentError, age_in_days, day_of, in_order, parse_moment
from labbook.model.quantities import Quantity, QuantityError, parse_quantity
from labbook.model.results.looking import Looked, jar_name
from labbook.show.outcomes import headline, point_words
from labbook.work.bench import Bench
from labbook.work.draft import Draft
from labbook.work.due import watch_of
from labbook.work.look_remarks import again, goes_on
from labbook.work.seeing import Seen, cautions, guard_something, said_of

if TYPE_CHECKING:
    from labbook.notebook.record import Plan


@dataclass(frozen=True, slots=True)
class Named:
    """A jar, or the bulk, that a person named."""

    batch: Batch
    jar: str
    as_written: str

    @property
    def name(self) -> str:
        """`7K.1`."""
        return jar_name(self.batch.short, self.jar)


def jar_of(bench: Bench, typed: str) -> Named:
    """The jar that `7k.1`, `7k.bulk` or the full id with the jar means.

    `7k` alone is its only jar.

    Raises:
        UnknownName: no such batch or jar.
        Unclear: several jars, and none was named.
    """
    head, dot, tail = typed.rpartition(".")
    if not dot:
        head, tail = typed, ""
    batch = bench.batch(head)
    if batch.dropped:
        raise NotAllowed(f"{batch.short} was dropped: {batch.dropped.why}.")
    jars = jars_by_name(batch, bench.snapshot.jars.get(batch.id))
    if tail.casefold() == BULK:
        return Named(batch, BULK, BULK)
    if not tail and len(jars) == 1:
        tail = next(iter(jars))
    names = ", ".join(jar_name(batch.short, jar) for jar in (*jars, BULK))
    if not tail:
        raise Unclear(f"Which jar of {batch.short}?", mend=f"One of: {names}")
    found = next((name for name in jars if name.casefold() == tail.casefold()), None)
    if found is None:
        raise UnknownName(f"{batch.short} has no jar {tail}.", mend=f"It has: {names}")
    return Named(batch, found, jars[found].jar)


def is_jar(bench: Bench, typed: str) -> bool:
    """Whether a word names a jar of a batch there is."""
    head = typed.rpartition(".")[0] or typed
    return bool(matching_batches(head, bench.snapshot.batches))


def moment_of(bench: Bench, typed: str | None, known_from: str) -> Moment:
    """When a look was made: now, or the day or time that a late entry names.

    Raises:
        Unclear: a date that can't be read, one to come, or a late entry without its day.
    """
    if not typed:
        if known_from:
            raise Unclear(f"From {known_from}, of which day?", mend="Add it: --made 2026-03-01")
        return bench.now
    try:
        moment = parse_moment(typed)
    except MomentError as error:
        raise Unclear(f"{error}.", mend="Write the day: --made 2026-03-01") from error
    if day_of(moment) > bench.today or (
        not isinstance(moment, date) and in_order(moment) > in_order(bench.now)
    ):
        raise Unclear(f"{typed} is still to come; today is {bench.today.isoformat()}.")
    return moment


# Writing a look ----------------------------------------------------------------------------------


def look(bench: Bench, typed: str, seen: Seen, *, done: bool = False) -> Looked:
    """Writes one look and repeats it back.

    Args:
        bench: the notebook.
        typed: the jar.
        seen: what was seen.
        done: the jar is asked for no more after it.

    Raises:
        UnknownName, Unclear, NotAllowed: nothing is written.
    """
    guard_something(seen)
    named = jar_of(bench, typed)
    result: Looked = bench.record(
        lambda: plan_look(bench, named, seen, done=done), command="look"
    ).result
    return result


def plan_look(
    bench: Bench, named: Named, seen: Seen, *, instead_of: str = "", done: bool = False
) -> Plan:
    """What a look writes; called with the lock held.

    Args:
        bench: the notebook, read afresh here.
        named: the jar.
        seen: what was seen.
        instead_of: the id of a look typed a moment ago, which is struck.
        done: the jar is asked for no more after it.
    """
    fresh = bench.afresh()
    batch = fresh.snapshot.batches[named.batch.id]
    entry, remarks = _entry(fresh, batch, named, seen, instead_of)
    draft = Draft(bench.root)
    path = _looks_file(fresh, draft, batch)
    if instead_of:
        stability = fresh.snapshot.stability[batch.id]
        index = [one.id for one in stability.looks].index(instead_of)
        draft.put(path, ("looks", index, "struck"), "typed again")
    draft.append(path, "looks", entry)
    said = said_of(seen)
    if done:
        from labbook.work.look_later import put_done

        put_done(fresh, draft, named, seen.time or bench.now, "")
        said += "; done"
    else:
        remarks += goes_on(watch_of(fresh, batch), named, entry)
    result = Looked(
        id=batch.id,
        short=batch.short,
        jar=named.name,
        entry=entry["id"],
        said=_with_point(entry, said),
        cautions=cautions(batch.short, named.name, seen.modes),
        remarks=tuple(remarks),
    )
    return draft.plan(f"Look at {named.name}: {said}", result)


def _with_point(entry: dict[str, Any], said: str) -> str:
    place = str(entry.get("condition", ""))
    if "cycle" in entry:
        return f"{place}, cycle {entry['cycle']}: {said}"
    planned = entry.get("planned")
    point = point_words(float(planned.exact("d")), "") if isinstance(planned, Quantity) else ""
    point = point or ("off the plan" if place else "")
    return f"{', '.join(part for part in (place, point) if part)}: {said}".removeprefix(": ")


def _looks_file(bench: Bench, draft: Draft, batch: Batch) -> str:
    from labbook.notebook.emit import document
    from labbook.notebook.schema import schema_line

    path = bench.batch_path(batch.id, "stability.yaml")
    if not draft.exists(path):
        draft.create(path, document({"batch": batch.id}, head=(schema_line("stability", 3),)))
    return path


def _entry(
    bench: Bench, batch: Batch, named: Named, seen: Seen, instead_of: str
) -> tuple[dict[str, Any], list[str]]:
    from labbook.notebook.emit import Word

    when = seen.time or bench.now
    jars = bench.snapshot.jars.get(batch.id)
    stability = bench.snapshot.stability.get(batch.id)
    _guard_time(batch, named, when, jars_by_name(batch, jars).get(named.jar))
    stay = stay_at(stays_of(batch, jars, named.jar), when)
    watch = watch_of(bench, batch)
    if instead_of and stability is not None:
        kept = tuple(one for one in stability.looks if one.id != instead_of)
        watch = replace(watch, stability=replace(stability, looks=kept))
    wanted = asked_for(watch, named.jar, when)
    cycle = _cycle(watch, named, stay, seen, wanted.cycle if wanted else None)
    planned = wanted.point if wanted and cycle is None else None
    entry: dict[str, Any] = {
        "id": next_entry_id("o", [one.id for one in stability.looks] if stability else []),
        "jar": named.as_written,
        "time": when,
        "planned": planned,
        "cycle": cycle,
        "condition": stay.condition if stay else None,
        "grade": seen.grade,
        "modes": [Word(mode) for mode in seen.modes] or None,
        "extent": seen.extent or None,
        "layer": seen.layer,
        "rest": seen.rest,
        "at": seen.at,
        "reading": seen.reading or None,
        "value": seen.value,
        "unit": seen.unit or None,
        "by": seen.by or None,
        "photo": PurePath(seen.photo).name if seen.photo else None,
        "who": seen.who or None,
        "known from": Word(seen.known_from) if seen.known_from else None,
        "note": seen.note or None,
    }
    remarks = [
        *seen.remarks,
        *again(stability.looks if stability else (), named, when, instead_of),
    ]
    return {key: value for key, value in entry.items() if value is not None}, remarks


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


def _guard_time(batch: Batch, named: Named, when: Moment, jar: Any) -> None:
    start = combined_at(batch) if named.jar == BULK else filled_at(batch, jar)
    early = day_of(when) < day_of(start) if named.jar == BULK else age_in_days(start, when) < 0
    if early:
        done = "made" if named.jar == BULK else "filled"
        raise NotAllowed(
            f"{named.name} was {done} on {day_of(start).isoformat()}, after {day_of(when)}.",
            mend="Look at the day: --made 2026-03-01",
        )


def headline_after(bench: Bench, result: Looked) -> Looked:
    """The result with what became of the batch so far, and what it told if it was a trial."""
    from labbook.work.outcomes import noticed_for, outcomes_for

    fresh = bench.afresh()
    batch = fresh.snapshot.batches[result.id]
    told = None
    if batch.asks:
        from labbook.work.why import lesson_of

        told = lesson_of(fresh, batch.id)
    state = headline(outcomes_for(fresh, batch), noticed_for(fresh, batch))
    return replace(result, state=state, lesson=told)


def quantity_of(text: str | None, dimension: str, example: str) -> Quantity | None:
    """A temperature or a span of time typed by a person.

    Raises:
        Unclear: it is none.
    """
    if not text:
        return None
    try:
        return parse_quantity(text.replace(",", "."), dimension)
    except QuantityError as error:
        raise Unclear(f"{error}.", mend=f"Write it like {example}.") from error
