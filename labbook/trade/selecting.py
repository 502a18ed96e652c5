"""Which lines of a formula a rule means."""

from __future__ import annotations

from labbook.model.materials import Ingredient
from labbook.model.rules import Selector
from labbook.model.sheets import Sheets, fold


def picks(selector: Selector, name: str, sheets: Sheets, role: str | None = None) -> bool:
    """Whether a selector means an ingredient.

    Named ingredients are meant by any of their names; otherwise all other keys of the selector must
    hold. Of an ingredient without a sheet only its name and the line's role are known.
    """
    sheet = sheets.find(name)
    wanted = {sheets.id_of(one) for one in selector.ingredients}
    if sheets.id_of(name) in wanted or fold(name) in {fold(one) for one in selector.ingredients}:
        return True
    return _described(selector, sheet, role)


def _described(selector: Selector, sheet: Ingredient | None, role: str | None) -> bool:
    if not (selector.functions or selector.roles or selector.charge or selector.soluble_in):
        return False
    functions = set(sheet.functions) if sheet else set()
    known_as = functions | ({role} if role else set())
    if selector.functions and not functions & set(selector.functions):
        return False
    if selector.roles and not known_as & set(selector.roles):
        return False
    if selector.charge and (sheet is None or sheet.charge != selector.charge):
        return False
    return not selector.soluble_in or (
        sheet is not None and sheet.soluble_in == selector.soluble_in
    )
