"""`outcomes HC`: what became of a formula's batches, grouped, with how much that can say."""

from __future__ import annotations

from collections.abc import Sequence

from labbook.evidence import grouping
from labbook.evidence.failure import CENTRIFUGE, condition_key, is_run
from labbook.evidence.outcomes import accelerated, in_order_of_telling
from labbook.model.batch import Batch
from labbook.model.errors import UnknownName
from labbook.model.moments import day_of
from labbook.model.results.common import Next
from labbook.model.results.looking import (
    FAILED,
    INTACT,
    NOT_WATCHED,
    RUN,
    BatchOutcome,
    OutcomeRow,
    OutcomeTable,
)
from labbook.show.outcomes import headline, leading
from labbook.work.bench import Bench
from labbook.work.outcome_counts import compared, counting_in, failing, grouped, run_words
from labbook.work.outcomes import (
    batches_of,
    departures_for,
    noticed_for,
    outcomes_for,
)

Horizon = dict[tuple[str, str], float]


def outcomes(
    bench: Bench, typed: str, *, by: str = "", condition: str = "", by_jar: bool = False
) -> OutcomeTable:
    """What became of a formula's batches, version by version or by something else, newest first.

    A batch is marked as too young where it holds so far, but was not watched as long as it took
    another batch of the formula to fail in that condition.

    Args:
        bench: the notebook.
        typed: the formula.
        by: `version`, `lot`, `device`, `session`, a function, an ingredient, `container`, `place`.
        condition: the only one to tell of, and to count in; empty tells of all and counts in the
            first.
        by_jar: a row for each jar.

    Raises:
        UnknownName: no such formula, condition, or thing to group by.
    """
    formula = bench.formula(typed)
    by = by.strip() or grouping.VERSION
    found = [(batch, outcomes_for(bench, batch)) for batch in batches_of(bench, formula.id)]
    every = [one for _, its in found for one in its]
    shown = in_order_of_telling(one.condition for one in every if one.state != NOT_WATCHED)
    if condition:
        shown = (_named(condition, shown),)
    else:
        # Runs are told beside the table: a yes or no has no place in a row of days.
        shown = tuple(name for name in shown if not is_run(name)) or shown
    horizon = _horizon([its for _, its in found])
    counting = counting_in(bench, shown[0] if shown else "", by, [its for _, its in found])
    rows = {batch.id: _row(bench, batch, its, horizon) for batch, its in reversed(found)}
    groups = grouped(counting, [batch for batch, _ in reversed(found)], rows)
    failed = [batch for batch, its in found if _failed(its)]
    then = [Next(f"labbook why {failed[-1].short.lower()}")] if failed else []
    return OutcomeTable(
        code=formula.code,
        title=formula.title,
        day=bench.today,
        conditions=shown,
        groups=groups,
        by=by,
        by_jar=by_jar or by in grouping.OF_JARS,
        counted_in=counting.condition,
        accelerated=tuple(name for name in shown if accelerated(name)),
        asked_for=tuple(
            limit
            for limit in formula.acceptance
            if not condition or condition_key(limit.condition) == condition_key(condition)
        ),
        left_out=tuple(
            (batch.short, batch.dropped.why)
            for row in bench.rows
            if row.formula == formula.id and (batch := bench.snapshot.batches[row.id]).dropped
        ),
        compared=compared(counting, groups),
        failing=failing(counting, groups),
        then=(*then, Next(f"labbook log {formula.code}")),
    )


def _named(condition: str, shown: Sequence[str]) -> str:
    key = condition_key(condition)
    found = next((one for one in shown if condition_key(one) == key), "")
    runs = [one for one in shown if is_run(one)]
    if not found and key == CENTRIFUGE and len(runs) == 1:
        found = runs[0]
    if not found:
        raise UnknownName(
            f"No jar of it was looked at in {condition!r}.",
            mend=f"They were in: {', '.join(shown) or 'no condition yet'}",
        )
    return found


def _failed(its: tuple[BatchOutcome, ...]) -> bool:
    lead = leading(its)
    return lead is not None and lead.state == FAILED


def _horizon(found: list[tuple[BatchOutcome, ...]]) -> Horizon:
    """For each condition and unit the latest age by which a failed batch had failed."""
    horizon: Horizon = {}
    for its in found:
        lead = leading(its)
        for one in its:
            mine = lead is not None and condition_key(one.condition) == condition_key(
                lead.condition
            )
            if mine and one.state == FAILED and one.first_failed is not None:
                key = (condition_key(one.condition), one.unit)
                horizon[key] = max(horizon.get(key, 0.0), one.first_failed)
    return horizon


def _row(bench: Bench, batch: Batch, its: tuple[BatchOutcome, ...], horizon: Horizon) -> OutcomeRow:
    lead = leading(its)
    young = lead is None or lead.state == NOT_WATCHED
    if lead is not None and lead.state == INTACT:
        wanted = horizon.get((condition_key(lead.condition), lead.unit), 0.0)
        young = (lead.last_intact or 0.0) < wanted
    looks = bench.snapshot.stability.get(batch.id)
    noticed = noticed_for(bench, batch)
    unseen = batch.state == "open" and all(one.state == NOT_WATCHED for one in its)
    return OutcomeRow(
        batch=batch.id,
        short=batch.short,
        made=day_of(batch.made).isoformat(),
        age=max(0, (bench.today - day_of(batch.made)).days),
        headline=batch.state if unseen else headline(its, noticed),
        outcomes=its,
        noticed=noticed,
        departures=departures_for(bench, batch),
        young=young,
        corrections=len(batch.corrections) + (len(looks.corrections) if looks else 0),
        runs=run_words(bench, batch) if any(one.unit == RUN for one in its) else (),
    )
