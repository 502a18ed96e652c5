"""`due`: which jars to look at, by each batch's protocol."""

from __future__ import annotations

from datetime import timedelta

from labbook.evidence.due import WEEK, Watch, due_looks, in_a_row, standing_in
from labbook.evidence.failure import condition_key
from labbook.model.batch import Batch
from labbook.model.codec import from_json, to_json
from labbook.model.errors import UnknownName
from labbook.model.results.common import Next
from labbook.model.results.looking import Due, DueLook
from labbook.model.settings import Protocol
from labbook.notebook.index.answers import keep_answer, kept_answer
from labbook.notebook.index.batches import UNWATCHED
from labbook.notebook.index.files import Files
from labbook.work.bench import Bench
from labbook.work.rows import may_be_due


def protocol_of(bench: Bench, batch: Batch) -> Protocol | None:
    """The protocol of a batch: its jars', else the formula's, else the notebook's."""
    snapshot = bench.snapshot
    jars = snapshot.jars.get(batch.id)
    formula = snapshot.formula_of(batch)
    names = (
        jars.protocol if jars else None,
        formula.protocol if formula else None,
        snapshot.settings.defaults.protocol,
    )
    named = next((name for name in names if name), None)
    return snapshot.protocols.get(named) if named else None


def watch_of(bench: Bench, batch: Batch) -> Watch:
    """A batch with everything that says when to look at it."""
    snapshot = bench.snapshot
    formula = snapshot.formula_of(batch)
    return Watch(
        batch=batch,
        jars=snapshot.jars.get(batch.id),
        stability=snapshot.stability.get(batch.id),
        formula=formula,
        protocol=protocol_of(bench, batch),
    )


def due_of(bench: Bench, batch: Batch, *, ahead: int = WEEK) -> tuple[DueLook, ...]:
    """What is due of one batch."""
    return due_looks(watch_of(bench, batch), bench.today, ahead=ahead)


def due(bench: Bench, *, ahead: int = WEEK) -> Due:
    """Jars to look at: overdue, today, and in the days ahead.

    Batches with jars and without a protocol are named: nothing falls due of them by itself.
    """
    found, without = _falling_due(bench, ahead)
    states = {
        state: in_a_row(one for one in found if one.state == state)
        for state in ("overdue", "today", "coming")
    }
    count = len(states["overdue"]) + len(states["today"])
    then = [Next("labbook look", _gloss(count))] if count else []
    if found:
        then.append(Next("labbook due --ics due.ics", "into the telephone's calendar"))
    return Due(
        day=bench.today,
        overdue=states["overdue"],
        today=states["today"],
        coming=states["coming"],
        without_protocol=without,
        then=tuple(then),
    )


def _falling_due(bench: Bench, ahead: int) -> tuple[tuple[DueLook, ...], tuple[str, ...]]:
    """The looks, and the batches without a protocol; kept until a file or the day changes."""
    files = bench.snapshot.files
    asked = f"{bench.today} {ahead}"
    if isinstance(files, Files) and (kept := kept_answer(files, "due", asked)):
        looks, names = kept
        return tuple(from_json(DueLook, one) for one in looks), tuple(names)
    found: list[DueLook] = []
    without = []
    until = bench.today + timedelta(days=ahead)
    for row in bench.rows:
        if row.watch == UNWATCHED:
            without.append(bench.snapshot.batches[row.id].short)
        elif may_be_due(row, until):
            found += due_of(bench, bench.snapshot.batches[row.id], ahead=ahead)
    if isinstance(files, Files):
        keep_answer(files, "due", asked, [to_json(found), without])
    return tuple(found), tuple(without)


def looks_now(bench: Bench, condition: str) -> Due:
    """Every jar that stands in a condition, for a look off the plan: after a heat wave, say.

    Jars that are done are left out, and so are those given away or discarded: they stand elsewhere.

    Raises:
        UnknownName: no jar stands there.
    """
    batches = bench.snapshot.batches.values()
    found = in_a_row(
        one
        for batch in batches
        for one in standing_in(watch_of(bench, batch), condition, bench.today)
    )
    if not found:
        jars = bench.snapshot.jars.values()
        names = {condition_key(s.condition): s.condition for one in jars for s in one.stays}
        raise UnknownName(
            f"No jar stands in {condition!r} now.",
            mend=f"They stood in: {', '.join(names.values()) or 'no condition yet'}",
        )
    said = found[0].condition
    quoted = f'"{said}"' if " " in said else said
    return Due(
        day=bench.today,
        today=found,
        then=(
            Next(f"labbook look --now {quoted}", _gloss(len(found))),
            Next(f'labbook look {found[0].name.lower()} 0 --note "after the heat"'),
        ),
    )


def _gloss(count: int) -> str:
    words = ("", "this one", "these two", "these three", "these four", "these five", "these six",
             "these seven", "these eight", "these nine", "these ten")  # fmt: skip
    if count == 1:
        return words[1]
    told = words[count] if count < len(words) else f"these {count}"
    return f"{told}, one after the other"
