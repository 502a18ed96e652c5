"""The bench as it stands: every line of a batch with its target and what was weighed."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import replace
from decimal import Decimal
from fractions import Fraction

from labbook.model.batch import Batch, BatchLine
from labbook.model.results.making import TooMuch, Weighed, WeighLine
from labbook.trade import weighing
from labbook.trade.exact import decimal_text
from labbook.work.bench import Bench
from labbook.work.make import readability_of


def mass_in(batch: Batch, line: BatchLine) -> Fraction | None:
    """What was weighed for a line so far, in g; None where nothing was."""
    if not any(w.line == line.id and not w.struck for w in batch.weighings):
        return None
    return weighing.weighed(batch).lines.get(line.id)


def bench_of(
    bench: Bench, batch: Batch, recorded: Sequence[str] = (), slips: Sequence[TooMuch] = ()
) -> Weighed:
    """Every line of a batch with its target and what was weighed."""
    found = weighing.weighed(batch)
    over = {d.line: d for d in weighing.differences(batch)}
    entries, _ = weighing.entries(batch)
    digits = {e.now.line: e.now.mass.value for e in entries if e.now.line and e.counts}
    lots = {w.line: w.lot for w in batch.weighings if not w.struck and w.line and w.lot}
    lines = tuple(_line(line, found.lines.get(line.id), over, lots, digits) for line in batch.lines)
    lines = tuple(_of_premix(line, batch) for line in lines)
    unplanned = tuple(
        WeighLine(
            line=entry.now.id,
            phase=entry.now.phase or "",
            ingredient=entry.now.ingredient or "something",
            percent="",
            target="",
            weighed="" if entry.mass is None else decimal_text(entry.mass),
            lot=entry.now.lot or "",
        )
        for entry in found.unplanned
        if entry.counts
    )
    known = [mass for mass in found.lines.values() if mass is not None]
    known += [entry.mass for entry in found.unplanned if entry.counts and entry.mass is not None]
    balance = batch.tools.balance if batch.tools and batch.tools.balance else ""
    return Weighed(
        id=batch.id,
        short=batch.short,
        code=batch.formula.code,
        version=batch.formula.version,
        made_of=batch.formula.name,
        size=str(batch.size),
        balance=f"{balance}, {readability_of(bench, balance)} g" if balance else "",
        lines=lines,
        unplanned=unplanned,
        total=decimal_text(sum(known, Fraction())) if known else "",
        recorded=tuple(recorded),
        slips=tuple(slips),
        apart=any(parent.how == "split" for parent in batch.from_),
    )


def _of_premix(line: WeighLine, batch: Batch) -> WeighLine:
    """A line of which some came from a premix: its mass isn't that of the ingredient alone."""
    made = [w.batch for w in batch.weighings if w.batch and w.line == line.line and not w.struck]
    return replace(line, over=f"from {made[-1].rsplit('-', 1)[-1]}") if made else line


def _line(
    line: BatchLine,
    mass: Fraction | None,
    over: Mapping[str, weighing.Difference],
    lots: Mapping[str, str],
    digits: Mapping[str, Decimal],
) -> WeighLine:
    target = line.target.exact("g") if line.target else None
    beyond = over[line.id].over if line.id in over else None
    expected = line.id in over and over[line.id].expected_only
    told = ""
    if beyond and not expected:
        told = f"{decimal_text(abs(beyond))} {'over' if beyond > 0 else 'under'}"
    left = "" if target is None else decimal_text(target - (mass or 0))
    return WeighLine(
        line=line.id,
        phase=line.phase,
        ingredient=line.ingredient,
        percent="" if line.percent is None else f"{line.percent:f}",
        target=""
        if target is None
        else decimal_text(target, line.target.value if line.target else None),
        weighed="" if mass is None else decimal_text(mass, digits.get(line.id)),
        left=left,
        over=told,
        lot=lots.get(line.id, ""),
        qs=bool(line.qs),
        adjust=line.adjust or "",
    )
