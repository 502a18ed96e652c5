"""The curve of a formula's batches in one condition, for one group of failure.

Each version that has enough batches gets a line of its own; where none has, all versions share one.
Batches that were split from one bulk count once.
"""

from __future__ import annotations

from collections.abc import Collection, Mapping, Sequence

from labbook.evidence.counting import bulk_of, units_of
from labbook.evidence.failure import condition_key, is_run
from labbook.evidence.outcomes import in_order_of_telling, outcomes_of
from labbook.evidence.sightings import sightings
from labbook.evidence.statistics.intervals import Interval, failed_while_making
from labbook.evidence.statistics.refusal import Refusal
from labbook.evidence.statistics.turnbull import Between, Curve, bounds_at, kaplan_meier, turnbull
from labbook.evidence.timeline import Watched
from labbook.model.results.looking import DAYS, NOT_WATCHED, BatchOutcome
from labbook.model.results.pictures import CurveLine, CurvePicture, CurvePiece, CurveStep

LEAST = 4
"""Batches that a line takes: of fewer each one is better told by itself."""

SEPARATION = "separation"


Looks = Mapping[str, Collection[float]]
"""The ages at which each bulk was looked at."""


def curve_line(
    name: str, found: Curve, intervals: Sequence[Interval], looks: Looks | None = None
) -> CurveLine:
    """A reckoned curve as one line of a picture, with the outcomes that it was reckoned from."""
    bounds = bounds_at(intervals, found.until)
    steps = kaplan_meier(intervals, [(looks or {}).get(one.name, ()) for one in intervals])
    return CurveLine(
        name=name,
        of=found.of,
        failed=found.failed,
        while_making=found.while_making,
        pieces=tuple(CurvePiece(p.start, p.end, p.low, p.high) for p in found.pieces),
        last_intact=tuple(sorted(one.low for one in intervals if not failed_while_making(one))),
        bounds=(bounds.low, bounds.high) if isinstance(bounds, Between) else None,
        steps=()
        if isinstance(steps, Refusal) or not looks
        else tuple(CurveStep(step.age, step.intact, step.error) for step in steps),
    )


def formula_curve(
    code: str, batches: Sequence[Watched], *, condition: str = "", group: str = SEPARATION
) -> CurvePicture | Refusal:
    """The share of batches that are intact, by age.

    Args:
        code: the formula's.
        batches: its batches, in any order.
        condition: where they stood; empty takes the first in the order of telling, room mostly.
        group: the group of failure.

    Refused where fewer than four bulks were looked at in that condition.
    """
    told = [(one, outcome) for one in batches for outcome in _watched(one, group)]
    names = in_order_of_telling(outcome.condition for _, outcome in told)
    key = condition_key(condition or next(iter(names), ""))
    mine = [(one, outcome) for one, outcome in told if condition_key(outcome.condition) == key]
    every = _intervals(mine)
    if is_run(key):
        return Refusal(f"A run in a centrifuge has no age, so there is no curve of {code}")
    if len(every) < LEAST:
        place = condition or next(iter(names), "any condition")
        return Refusal(
            f"batches of {code} that were looked at in {place}: {len(every)}; a curve takes at"
            f" least {LEAST}."
        )
    numbers = sorted({one.batch.formula.version for one, _ in mine})
    versions = [(f"{code}@{n}", [x for x in mine if x[0].batch.formula.version == n])
              for n in numbers if n]  # fmt: skip
    enough = [(name, its) for name, part in versions if len(its := _intervals(part)) >= LEAST]
    groups = enough or [(f"{code}, all", every)]
    curves = [(name, turnbull(its), its) for name, its in groups]
    looks = _looks(mine)
    return CurvePicture(
        subject=code,
        event=group,
        condition=mine[0][1].condition,
        lines=tuple(curve_line(n, f, its, looks) for n, f, its in curves if isinstance(f, Curve)),
        counted="batches",
        unit=next((outcome.unit for _, outcome in mine if not outcome.while_making), DAYS),
    )


def _watched(one: Watched, group: str) -> list[BatchOutcome]:
    found = outcomes_of(one.batch, one.jars, one.stability, one.formula)
    return [o for o in found if o.group == group and o.state != NOT_WATCHED]


def _intervals(mine: Sequence[tuple[Watched, BatchOutcome]]) -> list[Interval]:
    known = {one.batch.id: one.batch for one, _ in mine}
    units = units_of((bulk_of(one.batch, known), 0.0, outcome) for one, outcome in mine)
    return [unit.fate for unit in units if unit.fate is not None]


def _looks(mine: Sequence[tuple[Watched, BatchOutcome]]) -> Looks:
    """The ages at which the jars of each bulk were looked at in the condition of its outcome."""
    known = {one.batch.id: one.batch for one, _ in mine}
    found: dict[str, set[float]] = {}
    for one, outcome in mine:
        held = found.setdefault(bulk_of(one.batch, known), set())
        key = condition_key(outcome.condition)
        for seen in sightings(one.batch, one.jars, one.stability, one.formula):
            if condition_key(seen.condition) == key and not seen.while_making:
                held.add(seen.point)
    return found
