"""`look`: one observation of one jar, its correction, and a jar put somewhere else."""

from __future__ import annotations

from dataclasses import dataclass, replace
from datetime import date
from typing import TYPE_CHECKING

from labbook.evidence.sightings import BULK, jars_by_name
from labbook.model.batch import Batch
from labbook.model.errors import Unclear, UnknownName
from labbook.model.ids import matching_batches
from labbook.model.moments import Moment, MomentError, day_of, in_order, parse_moment
from labbook.model.quantities import Quantity, QuantityError, parse_quantity
from labbook.model.results.looking import Looked, jar_name
from labbook.show.outcomes import headline
from labbook.work.bench import Bench
from labbook.work.draft import Draft
from labbook.work.due import watch_of
from labbook.work.look_entry import look_entry, with_point
from labbook.work.look_remarks import goes_on
from labbook.work.note import guard_kept
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
    guard_kept(batch)
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
    entry, remarks = look_entry(fresh, batch, named, seen, instead_of)
    draft = Draft(bench.root)
    path = draft.begin(fresh.batch_path(batch.id, "stability.yaml"), batch.id, "stability")
    if instead_of:
        stability = fresh.snapshot.stability[batch.id]
        index = [one.id for one in stability.looks].index(instead_of)
        draft.put(path, ("looks", index, "struck"), "typed again")
    draft.append(path, "looks", entry)
    remarks += _photos(fresh, draft, named, seen, entry["id"])
    said = said_of(seen)
    if done:
        from labbook.work.look_later import put_done

        put_done(fresh, draft, named, seen.time or bench.now, "")
        said += "; done"
    elif seen.spun is None:
        remarks += goes_on(watch_of(fresh, batch), named, entry)
    result = Looked(
        id=batch.id,
        short=batch.short,
        jar=named.name,
        entry=entry["id"],
        said=with_point(entry, said),
        cautions=cautions(batch.short, named.name, seen.modes),
        remarks=tuple(remarks),
    )
    return draft.plan(f"Look at {named.name}: {said}", result)


def _photos(bench: Bench, draft: Draft, named: Named, seen: Seen, entry: str) -> list[str]:
    """Adds the pictures of a look to the draft, and says what they are called."""
    if not seen.photos:
        return []
    from labbook.work.photos import Shows, put_photos

    when = seen.time or bench.now
    shows = Shows(time=when, caption=seen.note, jar=named.as_written, look=entry)
    said, beside = put_photos(bench, draft, named.batch, seen.photos, shows)
    return [*said, *beside]


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
