"""Slips at the bench: too much of a line, weighed up to, or taken out again."""

from __future__ import annotations

from collections.abc import Mapping
from fractions import Fraction
from typing import Any

from labbook.model.batch import Batch, BatchLine
from labbook.model.ids import next_entry_id
from labbook.model.quantities import Quantity
from labbook.model.results.making import TooMuch
from labbook.trade import weighing
from labbook.trade.exact import decimal_text, to_decimal, to_places
from labbook.trade.slips import BenchLine, Slip, slip
from labbook.work.bench import Bench
from labbook.work.draft import Draft
from labbook.work.make import readability_of
from labbook.work.note import guard_open
from labbook.work.weigh_one import Writer


def slip_of(
    bench: Bench,
    batch: Batch,
    line: BatchLine,
    mass: Quantity,
    totals: Mapping[str, Fraction | None] | None = None,
) -> Slip:
    """What to do about too much of a line; which lines are combined is seen from the steps.

    `totals` are what the lines hold, in g, where that isn't in the file yet.
    """
    held = weighing.weighed(batch).lines if totals is None else totals
    combined = combined_phases(batch)
    lines = [
        BenchLine(
            id=one.id,
            ingredient=one.ingredient,
            target=one.target.exact("g") if one.target else None,
            weighed=held.get(one.id),
            combined=one.phase in combined,
            fixed=bool(one.role in ("preservative", "active", "restricted")),
            fills_up=bool(one.qs),
        )
        for one in batch.lines
    ]
    balance = batch.tools.balance if batch.tools else None
    return slip(lines, line.id, mass.exact("g"), readability_of(bench, balance))


def combined_phases(batch: Batch) -> set[str]:
    """Phases that are combined already: what is in them can't be corrected by weighing."""
    phases: set[str] = set()
    for step in batch.steps:
        done = step.done is not None and step.done.skipped is None
        if step.plan and done and step.plan.do in ("combine", "add"):
            for named in (step.plan.add, step.plan.into):
                phases |= set((named or "").replace(",", " ").split())
    return phases


def too_much(found: Slip) -> TooMuch:
    """A slip in words, with what each of the three ways does."""
    leave, up = found.leave_it, found.weigh_up
    known = leave.percents is not None and leave.size is not None
    percent = leave.percents[found.line.id] if leave.percents else Fraction()
    return TooMuch(
        line=found.line.id,
        ingredient=found.line.ingredient,
        over=decimal_text(found.too_much),
        leave_percent=f"{to_places(percent, 2):f}" if known else "",
        leave_size=f"{to_places(leave.size or Fraction(), 2):f}" if known else "",
        rest_size="" if up.size is None else f"{up.size:f}",
        cant_follow=up.cant_follow,
        keep=up.over,
        combined=not found.take_out.possible,
        missing=tuple(dict.fromkeys((*leave.missing, *up.missing))),
    )


def weigh_up(bench: Bench, batch_id: str, found: Slip, write: Writer) -> str:
    """Writes the new targets and the new size of a batch that is weighed up to a slip."""

    def plan() -> Any:
        fresh = bench.afresh()
        batch = fresh.snapshot.batches[batch_id]
        draft = Draft(bench.root)
        path = fresh.batch_path(batch_id)
        for index, line in enumerate(batch.lines):
            target = found.weigh_up.targets.get(line.id)
            if target is not None and line.target and target != line.target.value:
                draft.put(path, ("lines", index, "target"), Quantity(target, "g"))
        if found.weigh_up.size is not None:
            draft.put(path, ("size",), Quantity(found.weigh_up.size, "g"))
        said = f"weighed up to {decimal_text(found.too_much)} g too much {found.line.ingredient}"
        data = {
            "id": next_entry_id("d", [d.id for d in batch.deviations]),
            "text": said,
            "line": found.line.id,
            "time": bench.now,
        }
        draft.append(path, "deviations", data)
        return draft.plan(f"{batch.short}: {said}", said)

    return str(write(plan))


def strike_last(bench: Bench, batch_id: str, line_id: str, why: str, write: Writer) -> str:
    """Strikes the latest weighing of a line, with a reason; returns it in words."""

    def plan() -> Any:
        fresh = bench.afresh()
        batch = fresh.snapshot.batches[batch_id]
        guard_open(batch, "a weighing")
        index, entry = [
            (index, w)
            for index, w in enumerate(batch.weighings)
            if w.line == line_id and not w.struck
        ][-1]
        draft = Draft(bench.root)
        draft.put(fresh.batch_path(batch_id), ("weighings", index, "struck"), why)
        line = next(line for line in batch.lines if line.id == line_id)
        said = f"{line.ingredient} {entry.mass}: {why}"
        return draft.plan(f"{batch.short}: {said}", said)

    return str(write(plan))


def grams(value: Fraction) -> Quantity:
    """A mass in grams."""
    return Quantity(to_decimal(value), "g")
