"""`weigh`: what the balance showed, line by line, written down the moment it is typed."""

from __future__ import annotations

import re
from collections.abc import Callable, Mapping, Sequence
from decimal import Decimal
from fractions import Fraction
from typing import TYPE_CHECKING, Any

from labbook.model.batch import Batch, BatchLine
from labbook.model.errors import NotAllowed, Unclear, UnknownName
from labbook.model.ids import next_entry_id
from labbook.model.quantities import Quantity, parse_quantity
from labbook.model.results.making import Weighed, WeighLine
from labbook.model.sheets import fold
from labbook.trade import weighing
from labbook.trade.exact import decimal_text, to_places
from labbook.work.bench import Bench
from labbook.work.correct import mass_of
from labbook.work.draft import Draft
from labbook.work.make import readability_of
from labbook.work.note import guard_open

if TYPE_CHECKING:
    from labbook.notebook.record import Plan

Writer = Callable[[Callable[[], "Plan"]], Any]
"""Writes one plan and gives its result: the `write` of a session (`labbook.notebook.record`)."""


def mass_in(batch: Batch, line: BatchLine) -> Fraction | None:
    """What was weighed for a line so far, in g; None where nothing was."""
    if not any(w.line == line.id and not w.struck for w in batch.weighings):
        return None
    return weighing.weighed(batch).lines.get(line.id)


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


def bench_of(bench: Bench, batch: Batch, recorded: Sequence[str] = ()) -> Weighed:
    """Every line of a batch with its target and what was weighed."""
    found = weighing.weighed(batch)
    over = {d.line: d for d in weighing.differences(batch)}
    entries, _ = weighing.entries(batch)
    digits = {e.now.line: e.now.mass.value for e in entries if e.now.line and e.counts}
    lots = {w.line: w.lot for w in batch.weighings if not w.struck and w.line and w.lot}
    lines = tuple(_line(line, found.lines.get(line.id), over, lots, digits) for line in batch.lines)
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
        apart=any(parent.how == "split" for parent in batch.from_),
    )


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


def weigh(
    bench: Bench,
    typed: str | None,
    entries: Sequence[str],
    *,
    lot: str | None = None,
    from_batch: str | None = None,
    known_from: str = "",
    added: bool = False,
) -> Weighed:
    """Writes weighings given as `beeswax=1.52`, all in one commit, or none where one is unclear.

    `*` takes the target and is kept so. A line that has a weight already is refused: `+=` adds a
    second portion, `:=` strikes the first. `added` takes a name that is near a line's as meant.
    """
    batch = bench.the_open_batch(typed)
    guard_open(batch, "a weighing")
    if lot is not None:
        known_lot(bench, lot)
    if from_batch and bench.batch_id(from_batch) == batch.id:
        raise NotAllowed(f"{batch.short} can't be made from itself.", mend="Name the other batch.")
    parsed = [_parsed(bench, batch, entry, added=added) for entry in entries]
    _guard_twice(bench, batch, parsed)
    said: list[str] = []
    with bench.session("weigh") as session:
        for name, mass, as_target, again in parsed:
            told = add_weighing(
                bench,
                batch.id,
                name,
                mass,
                session.write,
                lot=lot,
                from_batch=from_batch,
                as_target=as_target,
                known_from=known_from,
                replace="weighed again" if again == ":" else "",
            )
            said.append(told)
        session.message = session_message(batch, said)
    fresh = bench.afresh()
    return bench_of(fresh, fresh.snapshot.batches[batch.id], said)


def session_message(batch: Batch, said: Sequence[str]) -> str:
    """The commit message of a weighing session."""
    if len(said) == 1:
        return f"{batch.short}: {said[0]}"
    return f"Weigh {batch.short}: {len(said)} entries\n\n" + "\n".join(said)


Parsed = tuple[str, Quantity, bool, str]
"""Name, mass, whether it is taken as the target, and `+` or `:` where it was weighed before."""


def _guard_twice(bench: Bench, batch: Batch, parsed: Sequence[Parsed]) -> None:
    """Refuses one line named twice in one go, unless the later one says how it is meant."""
    seen: set[str] = set()
    for name, _, _, again in parsed:
        line = line_named(bench, batch, name)
        key = line.id if line else fold(name)
        if key in seen and not again:
            raise Unclear(f"{name} stands there twice.", mend=f"A second portion: {name}+=1.20")
        seen.add(key)


def _guard_name(bench: Bench, batch: Batch, name: str) -> None:
    """Refuses a name that no line and no sheet has and that is near a line's: a slip of the hand.

    Raises:
        Unclear: with the line's name, and how to say that it was meant.
    """
    from difflib import get_close_matches

    ingredient = name.partition("/")[0]
    if bench.snapshot.sheets.find(ingredient) is not None:
        return
    near = get_close_matches(ingredient, [line.ingredient for line in batch.lines], n=1, cutoff=0.7)
    if near:
        raise Unclear(
            f"{batch.short} has no {ingredient}, but it has {near[0]}.",
            mend=f"Type {near[0]}=...; or, where it is something else that went in, add --added",
        )


def _parsed(bench: Bench, batch: Batch, entry: str, *, added: bool = False) -> Parsed:
    name, equals, value = entry.partition("=")
    again = name[-1:] if name[-1:] in ("+", ":") else ""
    name = name.removesuffix(again).strip()
    if not equals or not name or not value.strip():
        raise Unclear(
            f"{entry!r} is no weighing.", mend=f"labbook weigh {batch.short} beeswax=1.52"
        )
    line = line_named(bench, batch, name)
    if line is None and not added:
        _guard_name(bench, batch, name)
    taken = line and any(w.line == line.id and not w.struck for w in batch.weighings)
    if taken and line and not again:
        have = decimal_text(mass_in(batch, line) or Fraction())
        raise NotAllowed(
            f"{line.ingredient} was weighed already in {batch.short}: {have} g.",
            mend=f"A second portion: {name}+={value}. Instead of it: {name}:={value}",
        )
    if value.strip() == "*":
        if line is None or line.target is None:
            raise NotAllowed(f"{name} has no target in {batch.short}.", mend="Type the weight.")
        return name, line.target, True, again
    return name, mass_or_volume(bench, name, value), False, again


def mass_or_volume(bench: Bench, name: str, value: str) -> Quantity:
    """A mass as typed; a volume only of what has a density in its sheet, reckoned into grams.

    Raises:
        Unclear: no mass; or a volume of something whose density isn't known.
    """
    typed = value.strip().replace(",", ".", 1)
    if not re.fullmatch(r"[0-9.]+\s*(ml|mL|l|L)", typed):
        return mass_of(value)
    volume = parse_quantity(typed, "volume")
    sheet = bench.snapshot.sheets.find(name.partition("/")[0])
    density = sheet.density if sheet else None
    if density is None or density.value is None or density.unit != "g/ml":
        raise Unclear(
            f"{volume} of {name}: its sheet has no single density to reckon grams with.",
            mend="Weigh it and type the grams.",
        )
    return Quantity(to_places(volume.exact("ml") * Fraction(density.value), 2), "g")
