"""What lists and calendars ask of all batches, out of the index where nothing changed."""

from __future__ import annotations

import json
from dataclasses import fields
from datetime import date
from typing import TYPE_CHECKING

from labbook.evidence.due import due_looks
from labbook.model.batch import Batch
from labbook.model.codec import to_json
from labbook.model.moments import day_of, in_order
from labbook.model.results.common import BatchLabel
from labbook.model.results.looking import FAILED
from labbook.notebook.index.batches import NEVER, OPEN, UNWATCHED, BatchRow, batch_rows
from labbook.notebook.index.files import Files
from labbook.show.outcomes import leading

if TYPE_CHECKING:
    from labbook.model.jars import Jars
    from labbook.work.bench import Bench

_END = date(9000, 1, 1)


def rows_of(bench: Bench) -> list[BatchRow]:
    """A row for each batch, dropped ones too."""
    files = bench.snapshot.files
    if not isinstance(files, Files):
        return [_reckoned(bench, id_)[0] for id_ in bench.snapshot.batches]
    return batch_rows(files, lambda id_: _reckoned(bench, id_))


def label_of(row: BatchRow) -> BatchLabel:
    """What a list says of a batch."""
    data = json.loads(row.label)
    data["departures"] = tuple(data.get("departures", ()))
    return BatchLabel(**data)


def may_be_due(row: BatchRow, until: date) -> bool:
    """Whether a look at a batch can fall due up to a day, or before it."""
    if row.watch in (NEVER, UNWATCHED):
        return False
    return row.watch == OPEN or until.isoformat() < row.watch


def _reckoned(bench: Bench, id_: str) -> tuple[BatchRow, bool]:
    from labbook.work.batches import label
    from labbook.work.outcomes import outcomes_for

    batch = bench.snapshot.batches[id_]
    lead = leading(outcomes_for(bench, batch))
    row = BatchRow(
        id=id_,
        formula=batch.formula.id,
        made=in_order(batch.made).isoformat(),
        dropped=batch.dropped is not None,
        state=batch.state,
        watch=_watch(bench, batch),
        failed=lead is not None and lead.state == FAILED,
        asks=batch.asks[0] if batch.asks else "",
        suspect=_suspect(bench, batch),
        label=json.dumps(to_json(label(bench, batch))),
        names="\n".join(("", *_named(batch, bench.snapshot.jars.get(batch.id)), "")),
    )
    return row, batch.id == id_


def _watch(bench: Bench, batch: Batch) -> str:
    """From when on nothing falls due any more, since nothing would at the end of days.

    What is asked of a jar then is asked from the beginning of its last stay on.
    """
    from labbook.work.due import watch_of

    jars = bench.snapshot.jars.get(batch.id)
    if batch.dropped or jars is None or not jars.jars:
        return NEVER
    watch = watch_of(bench, batch)
    if watch.protocol is None:
        return UNWATCHED
    if due_looks(watch, _END, ahead=0):
        return OPEN
    return max((day_of(stay.since) for stay in jars.stays), default=date.min).isoformat()


def _suspect(bench: Bench, batch: Batch) -> str:
    """The day after which nothing was seen that may be a failure, whatever content it was made of.

    History isn't asked for what was meant, so that an observed type always counts.
    """
    from labbook.evidence.book import last_sight, may_show_failure
    from labbook.model.sheets import fold
    from labbook.trade.standing import standing

    batch, stability = standing(batch), bench.snapshot.stability.get(batch.id)
    looked = stability is not None and may_show_failure(stability)
    observed = any(fold(one.reading) == "emulsion-type" for one in batch.readings)
    return last_sight(batch, stability).isoformat() if looked or observed else ""


def _named(batch: Batch, jars: Jars | None) -> list[str]:
    """Whatever the files of a batch name: packs, sheets, equipment, other batches."""
    tools = batch.tools
    found: list[str | None] = [line.sheet for line in batch.lines]
    found += [line.ingredient for line in batch.lines]
    for one in batch.weighings:
        found += (one.ingredient, one.lot, one.batch, one.balance)
    found += [one.with_ for one in batch.readings]
    found += [step.done.with_ for step in batch.steps if step.done]
    found += [parent.batch for parent in batch.from_]
    found += [one.now and one.now.strip() for one in batch.corrections]
    found += [getattr(tools, field.name) for field in fields(tools)] if tools else []
    found += [stay.place for stay in jars.stays] if jars else []
    return list(dict.fromkeys(name for name in found if name))
