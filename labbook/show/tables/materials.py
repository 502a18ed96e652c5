"""Ingredients, lots and equipment as tables."""

from __future__ import annotations

from collections.abc import Iterator

from labbook.model.materials import Ingredient
from labbook.model.materials import Value as Figure
from labbook.show.tables.held import Held
from labbook.show.tables.shape import (
    Column,
    Row,
    Table,
    Value,
    amount,
    at,
    link,
    measured,
    moment,
    typed,
)

_FIGURES = {
    "density": "its density",
    "melting_point": "its melting point",
    "molar_mass": "its molar mass",
    "HLB": "its HLB",
    "required_HLB": "the HLB that an oil asks for",
    "active_content": "its active matter",
    "water_content": "the water in it",
    "pKa": "its pKa",
}


def _ingredients(held: Held) -> Iterator[Row]:
    sheets = {sheet.id: sheet for sheet in held.ingredients.values()}
    for ident in held.ingredient_ids:
        sheet = sheets.get(ident)
        if sheet is None:
            yield {"ingredient": ident, "known": "named only"}
        else:
            yield {"ingredient": ident, "known": "has a sheet", **_ingredient(held, sheet)}


def _ingredient(held: Held, sheet: Ingredient) -> dict[str, Value]:
    row: dict[str, Value] = {
        "name": held.sheets.name_of(sheet.id),
        "title": sheet.title,
        "inci": sheet.inci,
        "functions": "; ".join(sheet.functions) or None,
        "soluble_in": sheet.soluble_in,
        "physical": sheet.physical,
        "charge": sheet.charge,
    }
    for name in _FIGURES:
        row |= _figure(name, getattr(sheet, name))
    return row


def _figure(name: str, figure: Figure | None) -> dict[str, Value]:
    if figure is None:
        return {}
    low, high = (figure.from_, figure.to) if figure.value is None else (figure.value, figure.value)
    return {f"{name}_low": low, f"{name}_high": high, f"{name}_unit": figure.unit}


def _lots(held: Held) -> Iterator[Row]:
    for name in held.lot_names:
        lot = held.lots.get(name)
        if lot is None:
            yield {"lot": name, "known": "named only"}
            continue
        yield {
            "lot": name,
            "known": "has a file",
            "id": lot.id,
            "ingredient": held.id_of(lot.ingredient),
            "number": lot.lot,
            "supplier": lot.supplier,
            "price": lot.price,
            "grade": lot.grade,
            "notes": lot.notes,
            **amount("size", lot.size),
            **at("bought", lot.bought),
            **at("opened", lot.opened),
            **at("expires", lot.expires),
            **at("used_up", lot.used_up),
        }


def _equipment(held: Held) -> Iterator[Row]:
    for name in held.tool_names:
        tool = held.equipment.get(name)
        if tool is None:
            yield {"equipment": name, "known": "named only"}
            continue
        yield {
            "equipment": name,
            "known": "has a file",
            "id": tool.id,
            "kind": tool.kind,
            "title": tool.title,
            "shear": tool.shear,
            "retired": bool(tool.retired),
            "checks": len(tool.calibrations),
            **typed("readability", tool.readability),
            **typed("repeatability", tool.repeatability),
        }


INGREDIENTS = Table(
    "ingredients",
    "One row for each ingredient that has a sheet or is named somewhere.",
    (
        Column("ingredient", "its permanent id; the written name where it has no sheet"),
        Column("known", "`has a sheet`, or `named only`"),
        Column("name", "the name of its sheet's file today"),
        Column("title", "its title"),
        Column("inci", "its name on an ingredient list"),
        Column("functions", "what it does, `; ` between"),
        Column("soluble_in", "oil, water, both or neither"),
        Column("physical", "liquid, solid, paste or powder"),
        Column("charge", "nonionic, anionic, cationic or amphoteric"),
        *(
            column
            for name, means in _FIGURES.items()
            for column in (
                Column(f"{name}_low", f"{means}: the value, or the low end of its range", "number"),
                Column(f"{name}_high", f"{means}: the value, or the high end", "number"),
                Column(f"{name}_unit", f"the unit of {name}"),
            )
        ),
    ),
    ("ingredient",),
    _ingredients,
)
LOTS = Table(
    "lots",
    "One row for each pack of an ingredient that has a file or is named in a weighing.",
    (
        Column("lot", "the name of its file"),
        Column("known", "`has a file`, or `named only`"),
        Column("id", "its permanent id"),
        Column("ingredient", "the ingredient, by its permanent id"),
        Column("number", "the lot number on the pack"),
        Column("supplier", "who sold it", private=True),
        Column("price", "what it cost, as written", private=True),
        Column("grade", "its grade"),
        *measured("size", "how much it holds when new", "mass"),
        *moment("bought", "when it was bought"),
        *moment("opened", "when it was opened"),
        *moment("expires", "when it expires"),
        *moment("used_up", "when it was empty"),
        Column("notes", "the maker's notes; may name a supplier", private=True),
    ),
    ("lot",),
    _lots,
    (link("ingredient", "ingredients"),),
)
EQUIPMENT = Table(
    "equipment",
    "One row for each balance, mixer, meter, vessel … that has a file or is named in a batch.",
    (
        Column("equipment", "the name of its file"),
        Column("known", "`has a file`, or `named only`"),
        Column("id", "its permanent id"),
        Column("kind", "what it is"),
        Column("title", "its title"),
        *measured("readability", "the smallest step that it shows", ""),
        *measured("repeatability", "how far it differs from itself", ""),
        Column("shear", "how hard a mixer shears"),
        Column("retired", "whether it is out of use", "boolean"),
        Column("checks", "how many checks and calibrations it has", "integer"),
    ),
    ("equipment",),
    _equipment,
)
TABLES = (INGREDIENTS, LOTS, EQUIPMENT)
