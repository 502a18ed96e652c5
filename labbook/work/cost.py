"""`formula cost HC`: what it costs in ingredients. Private, so no other room publishes it."""

from __future__ import annotations

from fractions import Fraction

from labbook.model.batch import Batch
from labbook.model.errors import NotAllowed, Unclear
from labbook.model.quantities import Quantity
from labbook.model.results.cost import Cost, CostLine
from labbook.trade.composition import Composition, resolve
from labbook.trade.cost import Portion, cost_lines, shared, totals
from labbook.trade.weighing import entries, weighed
from labbook.work.bench import Bench
from labbook.work.states import content_of

DEEPEST = 10
"""Premixes made of premixes; beyond this many the notebook goes in a circle."""


def cost(bench: Bench, typed: str, *, size: Quantity | None = None, batch: str = "") -> Cost:
    """What so much of a formula costs by the newest packs, or a batch by its own.

    Args:
        bench: the notebook.
        typed: a code or version; may be empty with a batch.
        size: how much; None takes the formula's, the notebook's, else 100 g.
        batch: an id; what was weighed counts, and the packs written beside the weighings.

    Raises:
        Unclear: neither a formula nor a batch.
        NotAllowed: a size together with a batch, or a batch of another formula.
    """
    if batch:
        return _of_batch(bench, typed, size, batch)
    if not typed:
        raise Unclear("The cost of which formula?", mend="labbook formula cost HC")
    content = content_of(bench, typed)
    formula = content.formula
    goal = size or formula.batch_size or bench.snapshot.settings.defaults.batch_size
    grams = goal.exact("g") if goal else Fraction(100)
    composition = resolve(formula, bench.snapshot.sheets)
    lines = lines_of(bench, composition, grams)
    return Cost(
        name=content.name,
        title=formula.title,
        size=grams,
        batch="",
        lines=lines,
        totals=totals(lines),
        at_least=any(line.cost is None for line in lines),
        notes=tuple(problem.what for problem in composition.problems),
    )


def lines_of(bench: Bench, composition: Composition, grams: Fraction) -> tuple[CostLine, ...]:
    """What so many grams of a content cost, line by line, from the newest packs."""
    portions = [
        Portion(line.ingredient, None if line.percent is None else line.percent * grams / 100)
        for line in composition.lines
    ]
    return cost_lines(portions, bench.snapshot.lots, bench.snapshot.sheets)


def _of_batch(bench: Bench, typed: str, size: Quantity | None, named: str) -> Cost:
    batch = bench.batch(named)
    code = typed.partition("@")[0].upper()
    if code and code != batch.formula.code:
        raise NotAllowed(
            f"{batch.short} is a batch of {batch.formula.code}, not of {code}.",
            mend=f"labbook formula cost {batch.formula.code} --batch {batch.short.lower()}",
        )
    if size is not None:
        raise NotAllowed(
            f"{batch.short} has the size that was weighed.", mend="Leave --size or --batch out."
        )
    lines, mass, notes = _weighed_lines(bench, batch, 0)
    sums = totals(lines)
    held = bench.snapshot.jars.get(batch.id)
    jars = [
        (jar.jar, None if jar.mass is None else jar.mass.exact("g"))
        for jar in (held.jars if held else ())
    ]
    return Cost(
        name=f"{batch.formula.code}@{batch.formula.version}",
        title=_title(bench, batch),
        size=mass,
        batch=batch.short,
        lines=lines,
        totals=sums,
        at_least=any(line.cost is None for line in lines),
        jars=shared(sums, jars) if jars else (),
        notes=notes,
    )


def _title(bench: Bench, batch: Batch) -> str:
    formula = bench.snapshot.formulas.get(batch.formula.code)
    return formula.title if formula else ""


def _weighed_lines(
    bench: Bench, batch: Batch, depth: int
) -> tuple[tuple[CostLine, ...], Fraction, tuple[str, ...]]:
    """What went into a batch, each weighing by its pack, and its mass in g."""
    names = {line.id: line.ingredient for line in batch.lines}
    lines: list[CostLine] = []
    notes: list[str] = []
    total = Fraction()
    for entry in entries(batch)[0]:
        if not entry.counts:
            continue
        now = entry.now
        name = names.get(now.line or "", now.ingredient or now.batch or now.id)
        total += entry.mass or 0
        if now.batch:
            lines += _premix(bench, name, now.batch, entry.mass, depth)
        else:
            portion = Portion(name, entry.mass, now.lot or "")
            lines += cost_lines([portion], bench.snapshot.lots, bench.snapshot.sheets)
    for id_, mass in weighed(batch).lines.items():
        if mass is None and names[id_] not in {line.ingredient for line in lines}:
            lines.append(CostLine(ingredient=names[id_], mass=None, why="it was not weighed"))
    for parent in batch.from_:
        notes.append(f"what came from {parent.batch} is not counted")
    return tuple(lines), total, tuple(notes)


def _premix(bench: Bench, name: str, of: str, mass: Fraction | None, depth: int) -> list[CostLine]:
    """A portion of a batch that was made before: its share of that batch's cost."""
    made = bench.snapshot.batches.get(of)
    if made is None or depth >= DEEPEST:
        why = (
            f"its batch {of} is not in the notebook" if made is None else f"{of} leads in a circle"
        )
        return [CostLine(ingredient=name, mass=mass, why=why)]
    inner, whole, _ = _weighed_lines(bench, made, depth + 1)
    sums = totals(inner)
    if not whole or mass is None or not sums:
        return [CostLine(ingredient=name, mass=mass, why=f"batch {made.short} has no known cost")]
    found = [
        CostLine(
            ingredient=name,
            mass=mass,
            lot=made.short,
            per_gram=total / whole,
            currency=currency,
            cost=mass * total / whole,
        )
        for currency, total in sums
    ]
    unknown = [line.ingredient for line in inner if line.cost is None]
    if unknown:
        why = f"batch {made.short}: no price for {', '.join(dict.fromkeys(unknown))}"
        found.append(CostLine(ingredient=name, mass=mass, why=why))
    return found
