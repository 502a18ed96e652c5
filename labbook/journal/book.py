"""A whole notebook as records, private ones too: what goes into the filter of what is public."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass, field
from functools import cached_property
from typing import Any

from labbook.model.batch import Batch
from labbook.model.entry import Entry
from labbook.model.formula import Formula
from labbook.model.jars import Jars, Stability
from labbook.model.materials import Equipment, Ingredient
from labbook.model.photos import Photos
from labbook.model.rulebook import RuleBook
from labbook.model.settings import Settings
from labbook.model.sheets import Sheets
from labbook.model.versions import Version
from labbook.trade.label import Starter


def _none(written: str) -> Ingredient | None:
    return None


@dataclass(frozen=True)
class Book:
    """The records of a notebook by name; each mapping may take its records when asked for them.

    Formulas, versions and equipment go by the names of their files, the others by the batch's full
    id. `starter` gives the program's own sheet for a written name.
    """

    settings: Settings
    formulas: Mapping[str, Formula]
    versions: Mapping[str, tuple[Version, ...]]
    batches: Mapping[str, Batch]
    jars: Mapping[str, Jars]
    stability: Mapping[str, Stability]
    ingredients: Mapping[str, Ingredient]
    equipment: Mapping[str, Equipment]
    entries: tuple[Entry, ...]
    trials: Mapping[str, Formula] = field(default_factory=dict)
    rules: RuleBook = field(default_factory=RuleBook)
    photos: Mapping[str, Photos] = field(default_factory=dict)
    starter: Starter = _none

    @cached_property
    def sheets(self) -> Sheets:
        """All sheets, to be found by any of their names."""
        return Sheets(self.ingredients)

    @cached_property
    def code_of(self) -> Mapping[str, str]:
        """Code by the permanent id of a formula; the first one where a file was copied."""
        return {one.id: code for code, one in reversed(list(self.formulas.items()))}

    @cached_property
    def made_of(self) -> Mapping[str, tuple[str, ...]]:
        """The full ids of the batches of each formula, by its permanent id."""
        found: dict[str, list[str]] = {}
        for id_, batch in self.batches.items():
            found.setdefault(batch.formula.id, []).append(id_)
        return {id_: tuple(some) for id_, some in found.items()}

    def formula_of(self, batch: Batch) -> Formula | None:
        """The formula of today that a batch was made of."""
        code = self.code_of.get(batch.formula.id)
        return None if code is None else self.formulas[code]

    def stamp(self, formula_id: str) -> str:
        """A text that is another one whenever any record of a formula or of its batches is."""
        return "\n".join(repr(one) for one in self._records(formula_id))

    def reopen(self) -> None:
        """For a copy of the process, which may not use the files that the first one opened."""

    def turn_to(self, formula_ids: Iterable[str]) -> None:
        """Takes out what is recorded of some formulas, and lets go of what isn't.

        The records of a large notebook don't fit in memory together.
        """

    def _records(self, formula_id: str) -> Iterator[Any]:
        code = self.code_of.get(formula_id)
        if code is not None:
            yield from (code, self.formulas[code], self.versions.get(code, ()))
        for id_ in self.made_of.get(formula_id, ()):
            yield id_
            for some in (self.batches, self.jars, self.stability, self.trials, self.photos):
                yield some.get(id_)
