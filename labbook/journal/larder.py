"""The sheets and the equipment that the public part needs, and what of them is told."""

from __future__ import annotations

from collections.abc import Container, Iterable, Mapping
from dataclasses import dataclass, field, fields, replace
from typing import TYPE_CHECKING

from labbook.journal.redact import redacted
from labbook.model.materials import Ingredient
from labbook.model.sheets import Sheets
from labbook.trade.label import Starter, gathered

if TYPE_CHECKING:
    from labbook.journal.publish import PublicFormula


@dataclass(frozen=True)
class Beyond:
    """Sheets beyond those that are named, none of which has a page.

    Attributes:
        inner: of components of blends, by the names of their files.
        starters: the program's own, for what has no sheet in the notebook; for labels alone.
        whole: ids of sheets whose parts aren't told.
    """

    inner: Mapping[str, Ingredient] = field(default_factory=dict)
    starters: Mapping[str, Ingredient] = field(default_factory=dict)
    whole: frozenset[str] = frozenset()


class Larder:
    """Sheets as they may be told, each made when it is first asked for."""

    def __init__(self, sheets: Sheets, starter: Starter, told: Container[str]) -> None:
        """Keeps what it makes.

        Args:
            sheets: all of the notebook, with what is private.
            starter: the program's sheet for a written name.
            told: ids of the sheets whose parts may be told.
        """
        self._sheets = sheets
        self._starter = starter
        self._told = told
        self._made: dict[str, Ingredient] = {}

    def sheet(self, sheet: Ingredient) -> Ingredient:
        """A sheet without what is private."""
        found = self._made.get(sheet.id)
        if found is None:
            found = redacted(sheet)
            if self._is_whole(sheet):
                found = replace(found, contains=(), allergens=(), allergens_complete=None)
            self._made[sheet.id] = found
        return found

    def is_whole(self, name: str) -> bool:
        """Whether the sheet of a file has parts that aren't told."""
        return self._is_whole(self._sheets.by_file[name])

    def _is_whole(self, sheet: Ingredient) -> bool:
        return bool(sheet.contains or sheet.allergens) and sheet.id not in self._told

    def within(self, names: Iterable[str]) -> tuple[dict[str, Ingredient], dict[str, Ingredient]]:
        """All sheets that written names need, by file, and the program's own for the others."""
        return gathered(names, self._sheets, self._starter, self.sheet)

    def needed(self, names: Iterable[str]) -> tuple[Sheets, Beyond]:
        """The sheets that written names mean, and those beyond."""
        wanted = set(names)
        own, starters = self.within(wanted)
        whole = {sheet.id for name, sheet in own.items() if self.is_whole(name)}
        return _apart(wanted, self._sheets, own, Beyond(starters=starters, whole=frozenset(whole)))


def needed_of(names: Iterable[str], sheets: Sheets, beyond: Beyond) -> tuple[Sheets, Beyond]:
    """The same of sheets that are public already."""
    wanted = set(names)
    known = Sheets({**sheets.by_file, **beyond.inner})
    own, starters = gathered(wanted, known, beyond.starters.get, lambda sheet: sheet)
    return _apart(wanted, known, own, replace(beyond, starters=starters))


def _apart(
    wanted: Iterable[str], sheets: Sheets, own: Mapping[str, Ingredient], beyond: Beyond
) -> tuple[Sheets, Beyond]:
    named = {sheets.id_of(name) for name in wanted}
    ordered = {name: own[name] for name in sheets.by_file if name in own}
    inner = {name: sheet for name, sheet in ordered.items() if sheet.id not in named}
    return (
        Sheets({name: sheet for name, sheet in ordered.items() if sheet.id in named}),
        replace(beyond, inner=inner),
    )


# What the public part names -----------------------------------------------------------------------


def names_in(formulas: Iterable[PublicFormula]) -> set[str]:
    """The ingredients that formulas and their batches name, as they are written there."""
    found: set[str] = set()
    for one in formulas:
        contents = (one.formula, *(version.formula for version in one.versions))
        found |= {line.ingredient for content in contents for _, line in content.lines}
        for made in one.batches:
            found |= {line.sheet for line in made.batch.lines}
            found |= {w.ingredient for w in made.batch.weighings if w.ingredient}
    return found


def tools_in(formulas: Iterable[PublicFormula]) -> set[str]:
    """The equipment that batches name."""
    wanted: set[str] = set()
    for made in (batch for one in formulas for batch in one.batches):
        tools = made.batch.tools
        wanted |= {getattr(tools, f.name) for f in fields(tools)} if tools else set()
        wanted |= {step.done.with_ for step in made.batch.steps if step.done and step.done.with_}
        wanted |= {reading.with_ for reading in made.batch.readings if reading.with_}
    return wanted
