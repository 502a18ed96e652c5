"""`weigh`: what the balance showed, line by line, written down the moment it is typed."""

from __future__ import annotations

from collections.abc import Sequence
from fractions import Fraction
from functools import partial

from labbook.model.batch import Batch, BatchLine
from labbook.model.errors import NotAllowed, Unclear
from labbook.model.results.making import Weighed
from labbook.trade.slips import Slip, clearly_over
from labbook.work.at_bench import bench_of as bench_of
from labbook.work.at_bench import mass_in
from labbook.work.bench import Bench
from labbook.work.note import guard_open
from labbook.work.slips import grams, slip_of, strike_last, too_much, weigh_up
from labbook.work.weigh_one import Writer, add_weighing, known_lot, line_named
from labbook.work.weigh_one import usual_lot as usual_lot
from labbook.work.weigh_typed import Ask, Typed, read_typed
from labbook.work.weigh_typed import mass_or_volume as mass_or_volume

LEAVE, REST, OUT = "leave", "rest", "out"
"""The three ways on after too much: it stays, the rest is weighed up to it, it was taken out."""


def weigh(
    bench: Bench,
    typed: str | None,
    entries: Sequence[str],
    *,
    lot: str | None = None,
    from_batch: str | None = None,
    known_from: str = "",
    added: bool = False,
    sure: bool = False,
    way: str = "",
    ask: Ask | None = None,
) -> Weighed:
    """Writes weighings given as `beeswax=1.52`, all in one commit, or none where one is unclear.

    Args:
        bench: the notebook.
        typed: the batch; None takes the only open one.
        entries: what was weighed. With a way on, a name alone is a line that holds too much, and
            none at all is the only line that does.
        lot: the pack.
        from_batch: the premix.
        known_from: `paper` or `memory`.
        added: takes a name that is near a line's as meant.
        sure: takes weights that are far off as meant.
        way: `leave`, `rest` or `out` for a line that holds too much.
        ask: asks about a weight that is far off.

    Raises:
        Unclear, NotAllowed, UnknownName: see their messages.
    """
    batch = _open_batch(bench, typed, lot, from_batch)
    named = [entry for entry in entries if way and "=" not in entry]
    typed_in = [entry for entry in entries if entry not in named]
    holds = partial(_held_by, bench, from_batch)
    parsed = read_typed(bench, batch, typed_in, added=added, sure=sure, ask=ask, holds=holds)
    slips = _slips(bench, batch, parsed, named, way)
    with bench.session("weigh") as session:
        said = [
            add_weighing(
                bench,
                batch.id,
                one.name,
                one.mass,
                session.write,
                lot=lot,
                from_batch=from_batch,
                as_target=one.as_target,
                known_from=known_from,
                replace="weighed again" if one.again == ":" else "",
            )
            for one in parsed
        ]
        said += [told for one in slips if (told := _settled(bench, batch, one, way, session.write))]
        if said:
            session.message = session_message(batch, said)
    fresh = bench.afresh()
    asked = () if way or known_from or batch.known_from else tuple(map(too_much, slips))
    return bench_of(fresh, fresh.snapshot.batches[batch.id], said, asked)


def _open_batch(bench: Bench, typed: str | None, lot: str | None, from_batch: str | None) -> Batch:
    """The open batch that is weighed into; pack and premix are such that they can be."""
    batch = bench.the_open_batch(typed)
    guard_open(batch, "a weighing")
    if lot is not None:
        known_lot(bench, lot)
    if from_batch and bench.batch_id(from_batch) == batch.id:
        raise NotAllowed(f"{batch.short} can't be made from itself.", mend="Name the other batch.")
    return batch


def _held_by(bench: Bench, premix: str | None, line: BatchLine) -> Fraction | None:
    """How many percent of a premix are a line's ingredient; None without one."""
    if premix is None:
        return None
    from labbook.trade.premade import holds_of

    book = bench.snapshot
    made = book.batches[bench.batch_id(premix)]
    return holds_of(made, line, book.batches, book.sheets, book.equipment)


def _slips(
    bench: Bench, batch: Batch, parsed: Sequence[Typed], named: Sequence[str], way: str
) -> tuple[Slip, ...]:
    """Lines that hold too much after these weighings, checked against the way on that was chosen.

    One that was weighed from a premix is none: what the premix brings along is meant.

    Raises:
        Unclear: a way on where nothing is too much, or where it isn't said of which.
        NotAllowed: a way that can't be gone any more.
    """
    totals = {line.id: mass_in(batch, line) for line in batch.lines}
    for one in parsed:
        if one.line is not None:
            before = totals[one.line.id] if one.again == "+" else None
            totals[one.line.id] = (before or Fraction()) + one.mass.exact("g")
    touched = {one.line.id for one in parsed if one.line is not None}
    touched |= {_line(bench, batch, name).id for name in named}
    mixed = {w.line for w in batch.weighings if w.batch and not w.struck}
    mixed |= {one.line.id for one in parsed if one.line is not None and one.holds is not None}
    over = [x for x in batch.lines if x.id not in mixed and _is_over(x, totals[x.id])]
    chosen = [line for line in over if line.id in touched]
    if way and not touched:
        chosen = over
    if way and not chosen:
        raise Unclear(
            f"Nothing in {batch.short} holds clearly more than its target.",
            mend=f"See: labbook weigh {batch.short} --show",
        )
    if way and len(chosen) > 1:
        names = " or ".join(line.ingredient for line in chosen)
        raise Unclear(
            f"{len(chosen)} lines hold too much.",
            mend=f"Say which, {names}: labbook weigh {batch.short} NAME --{way}",
        )
    found = tuple(
        slip_of(bench, batch, line, grams(mass), totals)
        for line in chosen
        if (mass := totals[line.id]) is not None
    )
    for slip in found:
        _guard_way(batch, slip, way)
    return found


def _line(bench: Bench, batch: Batch, name: str) -> BatchLine:
    line = line_named(bench, batch, name)
    if line is None:
        raise Unclear(
            f"{batch.short} has no line {name}.", mend=f"labbook weigh {batch.short} --show"
        )
    return line


def _is_over(line: BatchLine, mass: Fraction | None) -> bool:
    """Whether it has to be decided about; what an adjuster really took is no slip."""
    target = line.target.exact("g") if line.target and not line.adjust else None
    return mass is not None and clearly_over(mass, target)


def _guard_way(batch: Batch, found: Slip, way: str) -> None:
    name = found.line.ingredient
    if way == OUT and not found.take_out.possible:
        raise NotAllowed(
            f"{name} is combined already, so it can't be taken out of {batch.short}.",
            mend=f"labbook weigh {batch.short} {name} --leave, or --rest",
        )
    if way == REST and found.weigh_up.size is None:
        missing = ", ".join(found.weigh_up.missing)
        raise NotAllowed(
            f"How much of {missing} went in is unknown, so nothing can be weighed up to {name}.",
            mend=f"labbook weigh {batch.short} {name} --leave",
        )


def _settled(bench: Bench, batch: Batch, found: Slip, way: str, write: Writer) -> str:
    """Goes the way on that was chosen; empty where there is nothing to write."""
    if way == REST:
        return weigh_up(bench, batch.id, found, write)
    if way == OUT:
        return strike_last(bench, batch.id, found.line.id, "taken out again", write)
    return ""


def session_message(batch: Batch, said: Sequence[str]) -> str:
    """The commit message of a weighing session."""
    if len(said) == 1:
        return f"{batch.short}: {said[0]}"
    return f"Weigh {batch.short}: {len(said)} entries\n\n" + "\n".join(said)
