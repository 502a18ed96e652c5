"""`stability trend HC`: one reading of a formula's jars over time, like with like."""

from __future__ import annotations

from labbook.evidence import following
from labbook.evidence.readings import points_of
from labbook.model.results.trends import ReadingTrend
from labbook.work.bench import Bench
from labbook.work.outcomes import batches_of


def reading_trend(
    bench: Bench, typed: str, *, reading: str = "", condition: str = "", by_batch: bool = False
) -> ReadingTrend:
    """One reading of a formula's jars in one condition; see `labbook.evidence.following`.

    Raises:
        UnknownName: no such formula, reading or condition.
    """
    formula = bench.formula(typed)
    snapshot = bench.snapshot
    every = [
        found
        for batch in batches_of(bench, formula.id)
        for found in points_of(
            batch, snapshot.jars.get(batch.id), snapshot.stability.get(batch.id), snapshot.equipment
        )
    ]
    return following.reading_trend(
        formula, every, bench.today, reading=reading, condition=condition, by_batch=by_batch
    )
