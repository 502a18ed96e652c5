"""Screens of ingredient sheets, lots and equipment."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import fields

from labbook.model.fields import key_of
from labbook.model.materials import Equipment, Ingredient, Value
from labbook.model.moments import write_moment
from labbook.model.results.materials import LotRow, SheetsWritten
from labbook.show.layout import Screen
from labbook.show.parts import then


def sheets_screen(result: SheetsWritten, screen: Screen) -> str:
    """After `ingredient new`."""
    if not (result.copied or result.bare):
        screen.title("Every ingredient has its sheet; nothing was written")
        return screen.text()
    screen.title("Ingredient sheets written")
    for number, name in enumerate(result.copied):
        screen.row("starter" if not number else "", f"{name}, each figure with its source")
    for number, name in enumerate(result.bare):
        screen.row("bare" if not number else "", f"{name}: nothing is known of it yet")
    for name, near in result.near:
        screen.row("near", f"{name} looks like {', '.join(near)}")
    if result.bare:
        then(screen, [f"labbook edit {result.bare[0]}"])
    return screen.text()


def value_words(value: Value) -> str:
    """A figure of a sheet with its source, and what is noted of it."""
    told = figure_words(value)
    return f"{told}; {value.source or 'no source'}" + (f". {value.note}" if value.note else "")


def figure_words(value: Value) -> str:
    """A figure of a sheet: value or range, unit, temperature."""
    if value.value is not None:
        told = f"{value.value:f}"
    else:
        ends = [f"{v:f}" for v in (value.from_, value.to) if v is not None]
        told = (
            " to ".join(ends)
            if len(ends) == 2
            else f"{'to' if value.from_ is None else 'from'} {ends[0]}"
            if ends
            else "?"
        )
    told += f" {value.unit}" if value.unit else ""
    return told + (f" at {value.at}" if value.at else "")


def ingredient_screen(name: str, sheet: Ingredient, lots: Sequence[LotRow], screen: Screen) -> str:
    """`show beeswax`."""
    screen.title(f"{name}  {sheet.inci or ''}".rstrip(), ", ".join(sheet.functions[:2]))
    if sheet.also:
        screen.row("also", ", ".join(sheet.also))
    screen.blank()
    for field in fields(sheet):
        value = getattr(sheet, field.name)
        if isinstance(value, Value):
            screen.row("", f"{key_of(field.name)}: {value_words(value)}")
    for part in sheet.contains:
        screen.row("contains", f"{part.ingredient} {part.percent or '?'} %")
    for caution in sheet.cautions:
        screen.row("caution", caution)
    if sheet.notes:
        screen.row("notes", sheet.notes.strip())
    for number, row in enumerate(lots):
        screen.row("lots" if not number else "", lot_words(row))
    return screen.text()


def lot_words(row: LotRow) -> str:
    """A lot in one line; supplier and price are private but stand on one's own screen."""
    lot = row.lot
    told = row.name
    for word, text in (("lot", lot.lot), ("from", lot.supplier), ("size", lot.size)):
        told += f", {word} {text}" if text else ""
    for word, moment in (
        ("opened", lot.opened),
        ("expires", lot.expires),
        ("used up", lot.used_up),
    ):
        told += f", {word} {write_moment(moment)[:10]}" if moment else ""
    return told + (f"; in {', '.join(row.batches)}" if row.batches else "")


def lots_screen(rows: Sequence[LotRow], screen: Screen) -> str:
    """`ingredient lot list`."""
    screen.title("Lots", str(len(rows)))
    screen.blank()
    for row in rows:
        screen.row("", lot_words(row))
    if not rows:
        screen.row("", "None. Write one down: labbook ingredient lot add beeswax --lot 0815")
    return screen.text()


def ingredients_screen(sheets: Mapping[str, Ingredient], screen: Screen) -> str:
    """`ingredient list`."""
    screen.title("Ingredients", str(len(sheets)))
    screen.blank()
    for name, sheet in sheets.items():
        screen.row("", f"{name}: {', '.join(sheet.functions) or 'nothing known yet'}")
    return screen.text()


def equipment_screen(tools: Mapping[str, Equipment], screen: Screen) -> str:
    """`equipment list`."""
    screen.title("Equipment", str(len(tools)))
    screen.blank()
    for name, tool in tools.items():
        told = f"{name}, {tool.kind}"
        told += f", shows {tool.readability}" if tool.readability else ""
        told += f", shear {tool.shear}" if tool.shear else ""
        if tool.calibrations:
            last = tool.calibrations[-1]
            told += f"; {last.what} {write_moment(last.date)[:10]}"
        screen.row("", told)
    return screen.text()
