"""Pictures of the whole notebook, private batches too: jars over days, and the curve."""

from __future__ import annotations

from labbook.evidence.curves import SEPARATION, formula_curve
from labbook.evidence.statistics.refusal import Refusal
from labbook.evidence.timeline import (
    Watched,
    batch_timeline,
    formula_timeline,
    horizon_of,
    jar_rows,
)
from labbook.model.batch import Batch
from labbook.model.errors import UnknownName
from labbook.model.results.pictures import CurvePicture, Timeline
from labbook.work.bench import Bench
from labbook.work.outcomes import batches_of, formula_of


def timeline(bench: Bench, typed: str, *, condition: str = "") -> Timeline:
    """The jars over days: of a batch, or of a formula's batches.

    Args:
        bench: the notebook.
        typed: a batch or a code.
        condition: of a formula only the jars in it; empty for all.
    """
    try:
        formula = bench.formula(typed)
    except UnknownName:
        batch = bench.batch(typed)
        sisters = batches_of(bench, batch.formula.id)
        horizon = horizon_of(row for one in sisters for row in jar_rows(_watched(bench, one)))
        return batch_timeline(_watched(bench, batch), horizon)
    batches = [_watched(bench, one) for one in batches_of(bench, formula.id)]
    subject = f"{formula.code}, {formula.title}"
    return formula_timeline(subject, batches, condition=condition)


def curve(
    bench: Bench, typed: str, *, condition: str = "", group: str = SEPARATION
) -> CurvePicture | Refusal:
    """The share of a formula's batches that is intact, by age; refused where they are too few."""
    formula = bench.formula(typed)
    batches = [_watched(bench, one) for one in batches_of(bench, formula.id)]
    return formula_curve(formula.code, batches, condition=condition, group=group)


def _watched(bench: Bench, batch: Batch) -> Watched:
    snapshot = bench.snapshot
    return Watched(
        batch,
        snapshot.jars.get(batch.id),
        snapshot.stability.get(batch.id),
        formula_of(bench, batch),
    )
