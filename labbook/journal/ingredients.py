"""What the pages of ingredients say: what a sheet says that is public, and what it is used in."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import fields

from labbook.journal.names import formula_path, plain_name
from labbook.journal.publish import PublicFormula
from labbook.journal.views import View
from labbook.model.fields import QS, key_of
from labbook.model.formula import Formula, Line
from labbook.model.materials import Ingredient, Value
from labbook.model.sheets import Sheets, fold
from labbook.show.materials import figure_words


def ingredient_path(name: str) -> str:
    """`ingredients/beeswax`, by the name of its sheet."""
    return f"ingredients/{plain_name(name)}"


class Uses:
    """The pages of ingredients by the names that formulas write."""

    def __init__(self, sheets: Sheets) -> None:
        self._sheets = sheets

    def sheet(self, written: str) -> Ingredient | None:
        """The sheet for a name in a formula."""
        return self._sheets.find(written)

    def sheet_of(self, written: str) -> str:
        """The name of the sheet for a name in a formula; empty where there is none."""
        found = self._sheets.find(written)
        return self._sheets.name_of(found.id) if found else ""

    def path_of(self, written: str) -> str:
        """The page of an ingredient as a formula names it; empty where there is none."""
        name = self.sheet_of(written)
        return ingredient_path(name) if name else ""

    def in_content(self, formula: Formula) -> frozenset[str]:
        """The names of the sheets that a content uses."""
        return frozenset(
            filter(None, (self.sheet_of(line.ingredient) for _, line in formula.lines))
        )

    def told(self, one: PublicFormula) -> dict[str, View]:
        """What a formula has of each ingredient today, or the last version that had any."""
        found: dict[str, View] = {}
        now = one.versions[-1].name if one.versions else ""
        for version in reversed(one.versions):
            until = "" if version.name == now else version.name
            for name in sorted(self.in_content(version.formula) - found.keys()):
                found[name] = {
                    "title": one.formula.title,
                    "path": formula_path(one.formula.code),
                    "told": self._amounts(name, version.formula),
                    "until": until,
                    "now": now,
                }
        return found

    def _amounts(self, name: str, formula: Formula) -> str:
        return " and ".join(
            f"{_amount(line)} in phase {phase.phase}"
            for phase, line in formula.lines
            if self.sheet_of(line.ingredient) == name
        )


def ingredient_view(name: str, sheet: Ingredient, used: Sequence[View]) -> View:
    """All that a page tells of an ingredient.

    Args:
        name: of its sheet.
        sheet: what that says in public.
        used: what formulas have of it, by `Uses.told`.
    """
    title = sheet.title or name
    told = [sheet.inci] if sheet.inci and fold(sheet.inci) != fold(title) else []
    told += [", ".join(sheet.functions)] if sheet.functions else []
    told += [sheet.physical] if sheet.physical else []
    told += [_SOLUBLE[sheet.soluble_in]] if sheet.soluble_in in _SOLUBLE else []
    told += [sheet.charge] if sheet.charge else []
    return {
        "title": title,
        "said": "; ".join(told),
        "also": ", ".join(sheet.also),
        "figures": [
            (key_of(field.name), figure_words(value), value.source or "no source")
            for field in fields(sheet)
            if isinstance(value := getattr(sheet, field.name), Value)
        ],
        "cautions": list(sheet.cautions),
        "used": used,
    }


_SOLUBLE = {
    "oil": "dissolves in oil", "water": "dissolves in water",
    "both": "dissolves in oil and in water", "neither": "dissolves in neither oil nor water",
}  # fmt: skip


def _amount(line: Line) -> str:
    if line.percent is QS:
        return "q.s."
    return "some" if line.percent is None else f"{line.percent:f} %"
