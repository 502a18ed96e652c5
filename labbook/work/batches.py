"""Batches in lists, and `show 7k`."""

from __future__ import annotations

from typing import TYPE_CHECKING

from labbook.model.batch import Batch
from labbook.model.moments import day_of
from labbook.model.results.common import BatchLabel
from labbook.trade.standing import standing
from labbook.work.bench import Bench
from labbook.work.outcomes import headline_for
from labbook.work.rows import label_of

if TYPE_CHECKING:  # `diff` and `log` take labels only, and would wait for what making needs
    from labbook.model.results.making import BatchList, BatchShown


def label(bench: Bench, batch: Batch) -> BatchLabel:
    """What a list says of a batch."""
    weighed = {w.line for w in standing(batch).weighings if w.line and not w.struck}
    return BatchLabel(
        id=batch.id,
        short=batch.short,
        code=batch.formula.code,
        version=batch.formula.version,
        trial_of=batch.formula.trial_of,
        made=day_of(batch.made).isoformat(),
        state=batch.state,
        size=str(batch.size),
        aim=batch.aim or "",
        dropped=batch.dropped.why if batch.dropped else "",
        weighed=len(weighed),
        lines=0 if any(p.how == "split" for p in batch.from_) else len(batch.lines),
        outcome=headline_for(bench, batch),
    )


def labels(
    bench: Bench, *, formula_id: str = "", number: int | None = None, dropped: bool = False
) -> tuple[BatchLabel, ...]:
    """Batches newest first, of one formula or version where named."""
    found = [
        row
        for row in bench.rows
        if (dropped or not row.dropped) and (not formula_id or row.formula == formula_id)
    ]
    found.sort(key=lambda row: (row.made, row.id), reverse=True)
    told = (label_of(row) for row in found)
    return tuple(one for one in told if number is None or one.version == number)


def list_batches(bench: Bench, code: str = "", *, dropped: bool = False) -> BatchList:
    """All batches, or those of one formula."""
    from labbook.model.results.making import BatchList

    id_ = bench.formula(code).id if code else ""
    gone = sum(1 for row in bench.rows if row.dropped and (not id_ or row.formula == id_))
    return BatchList(
        batches=labels(bench, formula_id=id_, dropped=dropped),
        dropped=gone,
        code=code.upper(),
    )


def show_batch(bench: Bench, typed: str) -> BatchShown:
    """Everything recorded about a batch, and the batches that were made from it."""
    from labbook.model.results.making import BatchShown
    from labbook.work.actual import made_of
    from labbook.work.at_bench import bench_of
    from labbook.work.photos import photos_of
    from labbook.work.reaction import reactions_of

    batch = bench.batch(typed)
    children = [
        child
        for child in bench.snapshot.batches.values()
        if any(parent.batch == batch.id for parent in child.from_)
        or any(w.batch == batch.id for w in child.weighings)
    ]
    title = next(
        (f.title for f in bench.snapshot.formulas.values() if f.id == batch.formula.id), ""
    )
    return BatchShown(
        batch=batch,
        title=title,
        path=bench.batch_path(batch.id),
        bench=bench_of(bench, batch),
        jars=bench.snapshot.jars.get(batch.id),
        stability=bench.snapshot.stability.get(batch.id),
        children=tuple(label(bench, child) for child in children),
        outcome=headline_for(bench, batch),
        made_of=made_of(bench, batch),
        photos=photos_of(bench, batch),
        reactions=len(reactions_of(bench, batch)),
    )
