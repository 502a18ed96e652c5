"""`show ANYTHING`: finds out what a name is, and shows it."""

from __future__ import annotations

import re

from labbook.cli import say
from labbook.model.errors import UnknownName
from labbook.model.ids import matching_batches
from labbook.work.bench import Bench


def show_anything(bench: Bench, typed: str, *, json: bool = False) -> None:
    """Shows a formula, version, batch, jar, ingredient, lot or piece of equipment.

    Raises:
        UnknownName: nothing has that name; near names are offered.
    """
    code = typed.partition("@")[0].upper()
    if "@" in typed or f"formulas/{code}.yaml" in bench.snapshot.files:
        from labbook.show.formulas import shown_screen
        from labbook.work.formulas import show_formula

        say.show(show_formula(bench, typed), shown_screen, json=json)
        return
    name = re.sub(r"\.(\w+)$", "", typed)
    if matching_batches(name, bench.snapshot.batches):
        from labbook.show.batch import shown_screen as batch_screen
        from labbook.work.batches import show_batch

        say.show(show_batch(bench, name), batch_screen, json=json)
        return
    show_material(bench, typed, json=json)


def show_material(bench: Bench, typed: str, *, json: bool) -> None:
    """Shows an ingredient, a lot or a piece of equipment by its name."""
    from labbook.show.materials import equipment_screen, ingredient_screen, lots_screen
    from labbook.work.materials import list_lots

    sheet = bench.snapshot.sheets.find(typed)
    if sheet is not None:
        name = bench.snapshot.sheets.name_of(sheet.id)
        lots = list_lots(bench, typed)
        say.show(
            sheet, lambda found, screen: ingredient_screen(name, found, lots, screen), json=json
        )
        return
    if typed in bench.snapshot.lots:
        rows = tuple(row for row in list_lots(bench, all_=True) if row.name == typed)
        say.show(rows, lots_screen, json=json)
        return
    if typed in bench.snapshot.equipment:
        say.show({typed: bench.snapshot.equipment[typed]}, equipment_screen, json=json)
        return
    from difflib import get_close_matches

    snapshot = bench.snapshot
    known = [*snapshot.formulas, *snapshot.ingredients, *snapshot.lots, *snapshot.equipment]
    near = get_close_matches(typed, known, n=3, cutoff=0.5)
    raise UnknownName(
        f"Nothing in the notebook is called {typed}.",
        mend=f"Near it: {', '.join(near)}" if near else "See: labbook formula list",
    )
