"""One weighing, written the moment it is typed."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from typing import TYPE_CHECKING, Any

from labbook.model.batch import Batch, BatchLine
from labbook.model.errors import Unclear, UnknownName
from labbook.model.ids import next_entry_id
from labbook.model.quantities import Quantity
from labbook.model.sheets import fold
from labbook.work.bench import Bench
from labbook.work.draft import Draft
from labbook.work.note import guard_open

if TYPE_CHECKING:
    from labbook.notebook.record import Plan

Writer = Callable[[Callable[[], "Plan"]], Any]
"""Writes one plan and gives its result: the `write` of a session (`labbook.notebook.record`)."""


def known_lot(bench: Bench, name: str) -> str:
    """The name of a pack that the notebook has.

    Raises:
        UnknownName: it has none of that name.
    """
    if name not in bench.snapshot.lots:
        raise UnknownName(
            f"The notebook has no lot {name}.", mend="See: labbook ingredient lot list"
        )
    return name


def line_named(bench: Bench, batch: Batch, name: str) -> BatchLine | None:
    """The line that a name or line id means; None where the batch foresaw no such ingredient."""
    if any(line.id == name for line in batch.lines):
        return next(line for line in batch.lines if line.id == name)
    ingredient, _, phase = name.partition("/")
    wanted = fold(bench.snapshot.sheets.id_of(ingredient))
    found = [line for line in batch.lines if fold(line.sheet) == wanted]
    if phase:
        found = [line for line in found if line.phase == phase.upper()]
    if len(found) > 1:
        some = " or ".join(f"{ingredient}/{line.phase}" for line in found)
        raise Unclear(f"{ingredient} stands in {len(found)} phases.", mend=f"Say which: {some}")
    return found[0] if found else None


def usual_lot(bench: Bench, ingredient: str) -> str | None:
    """The lot in use: the only one that is neither used up nor expired; None when unclear."""
    wanted = bench.snapshot.sheets.id_of(ingredient)
    found = [
        name
        for name, lot in bench.snapshot.lots.items()
        if bench.snapshot.sheets.id_of(lot.ingredient) == wanted and lot.used_up is None
    ]
    return found[0] if len(found) == 1 else None


def _data(
    batch: Batch, line: BatchLine | None, name: str, mass: Quantity, phase: str | None
) -> dict[str, Any]:
    """The keys of a weighing that say what was weighed."""
    data: dict[str, Any] = {"id": next_entry_id("w", [w.id for w in batch.weighings])}
    if line:
        return data | {"line": line.id, "mass": mass}
    data["ingredient"] = name.partition("/")[0]
    letter = phase or name.partition("/")[2].upper()
    if letter:
        data["phase"] = letter
    return data | {"mass": mass}


def _said(
    data: Mapping[str, Any], line: BatchLine | None, name: str, pack: str | None, known: str | None
) -> str:
    """A weighing repeated back in words."""
    said = f"{line.ingredient if line else name} {data['mass']}" + (f", lot {pack}" if pack else "")
    said += f", from {data['batch'].rsplit('-', 1)[-1]}" if "batch" in data else ""
    said += ", as target, not read" if "as target" in data else ""
    said += f", from {known}" if known else ""
    return said if line else f"{said}; no line foresaw it"


def add_weighing(
    bench: Bench,
    batch_id: str,
    name: str,
    mass: Quantity,
    write: Writer,
    *,
    lot: str | None = None,
    from_batch: str | None = None,
    phase: str | None = None,
    as_target: bool = False,
    known_from: str = "",
    replace: str = "",
) -> str:
    """Writes one weighing and returns it in words.

    Args:
        bench: the notebook.
        batch_id: the full id of an open batch.
        name: ingredient, `ingredient/PHASE`, or line id; an ingredient that no line foresaw is kept
            as an unplanned addition.
        mass: what the balance showed.
        write: how it is written (see `Writer`).
        lot: the pack; None takes the only one in use.
        from_batch: the premix that it came from.
        phase: the phase of an unplanned addition.
        as_target: taken as the target, not read from the balance.
        known_from: `paper` or `memory`.
        replace: a reason; earlier weighings of the line are struck with it.
    """
    from labbook.notebook.emit import Word

    if lot is not None:
        known_lot(bench, lot)

    def plan() -> Any:
        fresh = bench.afresh()
        batch = fresh.snapshot.batches[batch_id]
        guard_open(batch, "a weighing")
        line = line_named(fresh, batch, name)
        draft = Draft(bench.root)
        path = fresh.batch_path(batch_id)
        if replace and line:
            for index, entry in enumerate(batch.weighings):
                if entry.line == line.id and not entry.struck:
                    draft.put(path, ("weighings", index, "struck"), replace)
        pack = lot or (None if from_batch else usual_lot(fresh, line.ingredient if line else name))
        known = known_from or batch.known_from
        data = _data(batch, line, name, mass, phase)
        data |= {"lot": pack} if pack else {}
        data |= {"batch": fresh.batch_id(from_batch)} if from_batch else {}
        data |= {"known from": Word(known)} if known else {"time": bench.now}
        if batch.tools and batch.tools.balance:
            data["balance"] = batch.tools.balance
        data |= {"as target": True} if as_target else {}
        draft.append(path, "weighings", data)
        said = _said(data, line, name, pack, known)
        return draft.plan(f"{batch.short}: {said}", said)

    return str(write(plan))
