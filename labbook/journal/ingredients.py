"""What the pages of ingredients say: what a sheet says that is public, and what it is used in."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import fields
from functools import cached_property

from labbook.journal.names import formula_path, plain_name
from labbook.journal.publish import PublicFormula
from labbook.journal.teller import Teller
from labbook.journal.views import View
from labbook.model.fields import QS, key_of
from labbook.model.formula import Formula, Line
from labbook.model.materials import Ingredient, Value
from labbook.model.sheets import fold
from labbook.show.materials import figure_words


def ingredient_path(name: str) -> str:
    """`ingredients/beeswax`, by the name of its sheet."""
    return f"ingredients/{plain_name(name)}"


class Uses:
    """Which public formulas use which ingredient, reckoned once for all pages."""

    def __init__(self, teller: Teller) -> None:
        self._teller = teller
        self.names: tuple[str, ...] = teller.journal.sheets.names()
        self._by_id = {
            teller.journal.sheets.by_file[name].id: name for name in reversed(self.names)
        }

    def sheet(self, written: str) -> Ingredient | None:
        """The sheet for a name in a formula."""
        return self._teller.journal.sheets.find(written)

    def sheet_of(self, written: str) -> str:
        """The name of the sheet for a name in a formula; empty where there is none."""
        found = self._teller.journal.sheets.find(written)
        return self._by_id.get(found.id, "") if found else ""

    def path_of(self, written: str) -> str:
        """The page of an ingredient as a formula names it; empty where there is none."""
        name = self.sheet_of(written)
        return ingredient_path(name) if name else ""

    def in_content(self, formula: Formula) -> frozenset[str]:
        """The names of the sheets that a content uses."""
        return frozenset(
            filter(None, (self.sheet_of(line.ingredient) for _, line in formula.lines))
        )

    @cached_property
    def _formulas(self) -> Mapping[str, list[PublicFormula]]:
        found: dict[str, list[PublicFormula]] = {name: [] for name in self.names}
        for one in self._teller.journal.formulas:
            contents = [version.formula for version in one.versions]
            for name in sorted({name for content in contents for name in self.in_content(content)}):
                found[name].append(one)
        return found

    def formulas(self, name: str) -> list[PublicFormula]:
        """The formulas any version of which uses it."""
        return self._formulas[name]


def ingredient_view(uses: Uses, name: str, sheet: Ingredient) -> View:
    """All that a page tells of an ingredient."""
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
        "used": [_use(uses, name, one) for one in uses.formulas(name)],
    }


_SOLUBLE = {
    "oil": "dissolves in oil", "water": "dissolves in water",
    "both": "dissolves in oil and in water", "neither": "dissolves in neither oil nor water",
}  # fmt: skip


def _use(uses: Uses, name: str, one: PublicFormula) -> View:
    """What a formula has of it today, or the last version that had any."""
    last = next(v for v in reversed(one.versions) if name in uses.in_content(v.formula))
    amounts = [
        f"{_amount(line)} in phase {phase.phase}"
        for phase, line in last.formula.lines
        if uses.sheet_of(line.ingredient) == name
    ]
    return {
        "title": one.formula.title,
        "path": formula_path(one.formula.code),
        "told": " and ".join(amounts),
        "until": "" if last is one.versions[-1] else last.name,
        "now": one.versions[-1].name,
    }


def _amount(line: Line) -> str:
    if line.percent is QS:
        return "q.s."
    return "some" if line.percent is None else f"{line.percent:f} %"
