"""Ingredient sheets, lots and equipment: made, listed, used up."""

from __future__ import annotations

from typing import Any

from labbook.model.batch import Batch
from labbook.model.errors import NotAllowed, Unclear, UnknownName
from labbook.model.ids import new_permanent_id
from labbook.model.materials import (
    EQUIPMENT_KINDS,
    SHEAR_CLASSES,
    Calibration,
    Equipment,
    Ingredient,
    Lot,
)
from labbook.model.moments import Moment, parse_moment
from labbook.model.quantities import QuantityError, parse_quantity
from labbook.model.results.materials import LotRow, SheetsWritten
from labbook.model.sheets import fold
from labbook.rules.starters import starter_named
from labbook.trade.standing import typed_as
from labbook.work.bench import Bench
from labbook.work.draft import Draft
from labbook.work.starters import near_starters


def missing_sheets(bench: Bench) -> tuple[str, ...]:
    """Ingredients that formulas or open batches name and that have no sheet, sorted."""
    named: dict[str, str] = {}
    for formula in bench.snapshot.formulas.values():
        for _, line in formula.lines:
            named.setdefault(fold(line.ingredient), line.ingredient)
    for batch in bench.open_batches():
        for weighed in batch.lines:
            named.setdefault(fold(weighed.ingredient), weighed.ingredient)
    for lot in bench.snapshot.lots.values():
        named.setdefault(fold(lot.ingredient), lot.ingredient)
    return tuple(sorted(n for n in named.values() if bench.snapshot.sheets.find(n) is None))


def new_sheets(bench: Bench, names: list[str], *, missing: bool = False) -> SheetsWritten:
    """Writes ingredient sheets: the starter where there is one, else a bare sheet to fill in."""
    if not names and not missing:
        raise Unclear(
            "Which ingredient?", mend="labbook ingredient new beeswax, or --missing for all unknown"
        )

    def plan() -> Any:
        from labbook.notebook.emit import document
        from labbook.notebook.schema import schema_line
        from labbook.rules.starters import starter_text

        fresh = bench.afresh()
        draft = Draft(bench.root)
        copied, bare, near = [], [], []
        for name in [*names, *(missing_sheets(fresh) if missing else ())]:
            known = fresh.snapshot.sheets.find(name)
            if known is not None:
                if missing:
                    continue
                file = fresh.snapshot.sheets.name_of(known.id)
                raise NotAllowed(
                    f"{name} has a sheet.", where=f"ingredients/{file}.yaml", mend="Edit it there."
                )
            starter = starter_named(name)
            text = starter_text(starter) if starter else None
            if starter and text:
                draft.create(f"ingredients/{starter}.yaml", text)
                copied.append(starter)
                continue
            file = fold(name)
            if not file:
                raise Unclear(f"{name!r} is no name.", mend="Use letters, digits and hyphens.")
            # What no line of a formula could say can't be an id; the name of the file can.
            ident = name if typed_as(Ingredient, "id", name) else file
            draft.create(
                f"ingredients/{file}.yaml",
                document(
                    Ingredient(id=ident, title=name.replace("-", " ")),
                    head=(schema_line("ingredient", 1),),
                ),
            )
            bare.append(file)
            if alike := near_starters(name):
                near.append((name, tuple(alike)))
        result = SheetsWritten(copied=tuple(copied), bare=tuple(bare), near=tuple(near))
        count = len(copied) + len(bare)
        told = (copied + bare)[0] if count == 1 else f"{count} ingredients"
        return draft.plan(f"Add the sheet{'' if count == 1 else 's'} of {told}", result)

    result: SheetsWritten = bench.record(plan, command="ingredient new").result
    return result


def add_lot(bench: Bench, ingredient: str, fields: dict[str, Any], name: str = "") -> LotRow:
    """Writes a new pack of an ingredient; the file is named after ingredient and count."""

    def plan() -> Any:
        from labbook.notebook.emit import document
        from labbook.notebook.schema import schema_line

        fresh = bench.afresh()
        draft = Draft(bench.root)
        sheet = fresh.snapshot.sheets.find(ingredient)
        stem = fold(ingredient) if sheet is None else fresh.snapshot.sheets.name_of(sheet.id)
        chosen = name
        number = 1
        while not chosen:
            if f"{stem}-{number}" not in fresh.snapshot.lots:
                chosen = f"{stem}-{number}"
            number += 1
        lot = Lot(id=new_permanent_id("l", bench.random), ingredient=stem, **fields)
        draft.create(f"lots/{chosen}.yaml", document(lot, head=(schema_line("lot", 1),)))
        return draft.plan(f"Add lot {chosen}", LotRow(name=chosen, lot=lot, batches=()))

    result: LotRow = bench.record(plan, command="ingredient lot add").result
    return result


def list_lots(bench: Bench, ingredient: str = "", *, all_: bool = False) -> tuple[LotRow, ...]:
    """Lots in use, or all; with the batches that each went into."""
    wanted = bench.snapshot.sheets.id_of(ingredient) if ingredient else ""
    rows = []
    for name, lot in sorted(bench.snapshot.lots.items()):
        if wanted and bench.snapshot.sheets.id_of(lot.ingredient) != wanted:
            continue
        if lot.used_up is not None and not all_:
            continue
        rows.append(LotRow(name=name, lot=lot, batches=_made_with(bench, name)))
    return tuple(rows)


def _made_with(bench: Bench, lot: str) -> tuple[str, ...]:
    def uses(batch: Batch) -> bool:
        return any(w.lot == lot and not w.struck for w in batch.weighings)

    return tuple(batch.short for batch in bench.snapshot.batches.values() if uses(batch))


def use_up(bench: Bench, name: str, when: str = "") -> LotRow:
    """Says that a pack is empty."""
    lot = bench.snapshot.lots.get(name)
    if lot is None:
        raise UnknownName(f"The notebook has no lot {name}.", mend="labbook ingredient lot list")
    if lot.used_up is not None:
        raise NotAllowed(f"{name} was used up on {lot.used_up}.")
    moment = moment_of(when) if when else bench.today

    def plan() -> Any:
        draft = Draft(bench.root)
        draft.put(f"lots/{name}.yaml", ("used up",), moment)
        return draft.plan(f"Lot {name} is used up", None)

    bench.record(plan, command="ingredient lot use-up")
    return LotRow(
        name=name, lot=bench.afresh().snapshot.lots[name], batches=_made_with(bench, name)
    )


def moment_of(text: str) -> Moment:
    """A day or time typed by a person."""
    try:
        return parse_moment(text)
    except ValueError as error:
        raise Unclear(str(error)) from error


def add_equipment(bench: Bench, name: str, fields: dict[str, Any], *, default: bool) -> Equipment:
    """Writes a piece of equipment; the first of its kind becomes the notebook's usual one."""
    tool = Equipment(id=new_permanent_id("e", bench.random), **fields)
    key = {"balance": "balance", "mixer": "mixer", "pH meter": "meter",
           "thermometer": "thermometer"}.get(tool.kind, "")  # fmt: skip

    def plan() -> Any:
        from labbook.notebook.emit import document
        from labbook.notebook.schema import schema_line

        fresh = bench.afresh()
        draft = Draft(bench.root)
        draft.create(f"equipment/{name}.yaml", document(tool, head=(schema_line("equipment", 1),)))
        if key and (default or getattr(fresh.snapshot.settings.defaults, key) is None):
            draft.put("labbook.yaml", ("defaults", key), name)
        return draft.plan(f"Add {tool.kind} {name}", tool)

    result: Equipment = bench.record(plan, command="equipment add").result
    return result


def add_calibration(bench: Bench, name: str, fields: dict[str, Any]) -> Calibration:
    """Writes a check or calibration of a piece of equipment."""
    from labbook.model.ids import next_entry_id

    tool = bench.snapshot.equipment.get(name)
    if tool is None:
        raise UnknownName(f"The notebook has no equipment {name}.", mend="labbook equipment list")

    def plan() -> Any:
        fresh = bench.afresh()
        draft = Draft(bench.root)
        ids = [c.id for c in fresh.snapshot.equipment[name].calibrations]
        entry = {"id": next_entry_id("c", ids), **fields}
        draft.append(f"equipment/{name}.yaml", "calibrations", entry)
        return draft.plan(f"{name}: {fields['what']}", None)

    bench.record(plan, command="equipment calibrate")
    return bench.afresh().snapshot.equipment[name].calibrations[-1]


def equipment_fields(*, kind: str, **typed: str | None) -> dict[str, Any]:
    """Fields of a piece of equipment from what was typed.

    Raises:
        Unclear: an unknown kind or shear class, or a quantity without its unit.
    """
    if kind not in EQUIPMENT_KINDS:
        raise Unclear(
            f"{kind} is no kind of equipment.", mend=f"One of: {', '.join(EQUIPMENT_KINDS)}"
        )
    if typed.get("shear") and typed["shear"] not in SHEAR_CLASSES:
        raise Unclear(f"{typed['shear']} is no class of shear.", mend=", ".join(SHEAR_CLASSES))
    fields: dict[str, Any] = {"kind": kind}
    for key, text in typed.items():
        if text is None:
            continue
        try:
            fields[key] = text if key in ("title", "shear") else parse_quantity(text)
        except QuantityError as error:
            raise Unclear(f"{key}: {error}.", mend=f"Like this: --{key} 0.01g") from error
    radius = fields.get("radius")
    if radius is not None and (radius.dimension != "length" or radius.value <= 0):
        raise Unclear(f"radius: {radius} is no length.", mend="Like this: --radius 10cm")
    return fields
