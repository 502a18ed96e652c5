"""What the tables are made of: a notebook's records, and the names under which they are joined.

Each foreign key has to resolve, also in a notebook with gaps: a lot that is named in a weighing but
has no file gets a row of its own in `lots`, marked as named only.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field
from functools import cached_property

from labbook.evidence.sightings import all_looks, plain_jar
from labbook.model.batch import Batch
from labbook.model.digest import digest
from labbook.model.formula import Formula
from labbook.model.jars import Jars, Stability
from labbook.model.materials import Equipment, Ingredient, Lot
from labbook.model.moments import in_order
from labbook.model.sheets import Sheets
from labbook.model.versions import Version
from labbook.trade.standing import standing

TOOLS = ("balance", "mixer", "meter", "thermometer", "vessel")


@dataclass(frozen=True)
class Content:
    """One content of a formula: a numbered version, today's, or that of a trial batch."""

    name: str
    code: str
    kind: str
    formula: Formula | None
    version: Version | None = None
    digest: str = ""


@dataclass(frozen=True, kw_only=True)
class Held:
    """All records, and the keys of the tables."""

    formulas: Mapping[str, Formula]
    versions: Mapping[str, tuple[Version, ...]]
    batches: Mapping[str, Batch]
    trials: Mapping[str, Formula] = field(default_factory=dict)
    jars: Mapping[str, Jars] = field(default_factory=dict)
    stability: Mapping[str, Stability] = field(default_factory=dict)
    ingredients: Mapping[str, Ingredient] = field(default_factory=dict)
    lots: Mapping[str, Lot] = field(default_factory=dict)
    equipment: Mapping[str, Equipment] = field(default_factory=dict)
    private: bool = False

    @cached_property
    def sheets(self) -> Sheets:
        """Ingredients by any of their names."""
        return Sheets(self.ingredients)

    @cached_property
    def made(self) -> tuple[Batch, ...]:
        """The batches as they stand after corrections, in the order of making."""
        ordered = sorted(self.batches.values(), key=lambda one: (in_order(one.made), one.id))
        return tuple(standing(batch) for batch in ordered)

    # Formulas and their contents ------------------------------------------------------------------

    @cached_property
    def _code_of(self) -> dict[str, str]:
        told = {v.formula.id: code for code, every in self.versions.items() for v in every}
        return told | {formula.id: code for code, formula in self.formulas.items()}

    def code_of(self, batch: Batch) -> str:
        """The formula that a batch is of, by its code of today."""
        pin = batch.formula
        known = self._code_of.get(pin.id)
        if known is not None:
            return known
        taken = pin.code in self.formulas or pin.code in self.versions
        return f"{pin.code} ({pin.id})" if taken else pin.code

    @cached_property
    def codes(self) -> tuple[str, ...]:
        """Every formula: today's, those that only history holds, those only batches name."""
        named = {self.code_of(batch) for batch in self.batches.values()}
        return tuple(sorted({*self.formulas, *self.versions, *named}))

    def content_of(self, batch: Batch) -> str:
        """The key in `versions` of what a batch was made from."""
        if batch.formula.trial_of is not None:
            return f"trial {batch.id}"
        return f"{self.code_of(batch)}@{batch.formula.version}"

    @cached_property
    def contents(self) -> tuple[Content, ...]:
        """All contents, formula by formula: numbers in order, today's where it differs, trials."""
        found: dict[str, Content] = {}
        for code in self.codes:
            for version in self.versions.get(code, ()):
                name = f"{code}@{version.number}"
                kind = "version"
                found[name] = Content(name, code, kind, version.formula, version, version.digest)
            found |= self._today(code)
        for batch in self.made:
            name, code = self.content_of(batch), self.code_of(batch)
            trial = self.trials.get(batch.id)
            if batch.formula.trial_of is not None:
                found[name] = Content(name, code, "trial", trial, digest=batch.formula.digest)
            elif name not in found:
                found[name] = Content(name, code, "named only", None, digest=batch.formula.digest)
        return tuple(found.values())

    def _today(self, code: str) -> dict[str, Content]:
        formula = self.formulas.get(code)
        if formula is None:
            return {}
        now = digest(formula, self.sheets)
        numbered = self.versions.get(code, ())
        if numbered and numbered[-1].digest == now:
            return {}
        name = f"{code}@today"
        return {name: Content(name, code, "today", formula, digest=now)}

    # Materials ------------------------------------------------------------------------------------

    @cached_property
    def lot_names(self) -> tuple[str, ...]:
        """Lots that have a file or are named in a weighing."""
        named = {w.lot for batch in self.made for w in batch.weighings if w.lot}
        return tuple(sorted({*self.lots, *named}))

    @cached_property
    def tool_names(self) -> tuple[str, ...]:
        """Equipment that has a file or is named in a batch."""
        named: set[str] = set()
        for batch in self.made:
            named |= {w.balance for w in batch.weighings if w.balance}
            named |= {reading.with_ for reading in batch.readings if reading.with_}
            if batch.tools:
                named |= {tool for one in TOOLS if (tool := getattr(batch.tools, one))}
        return tuple(sorted({*self.equipment, *named}))

    @cached_property
    def ingredient_ids(self) -> tuple[str, ...]:
        """Permanent ids of ingredients with a sheet, and written names of those without."""
        named = {line.sheet for batch in self.made for line in batch.lines}
        named |= {w.ingredient for batch in self.made for w in batch.weighings if w.ingredient}
        named |= {lot.ingredient for lot in self.lots.values()}
        for content in self.contents:
            lines = content.formula.lines if content.formula else ()
            named |= {line.ingredient for _, line in lines}
        return tuple(sorted({*(s.id for s in self.ingredients.values()), *map(self.id_of, named)}))

    def id_of(self, name: str) -> str:
        """The key in `ingredients` of a name."""
        return self.sheets.id_of(name)

    # Batches and jars -----------------------------------------------------------------------------

    @cached_property
    def batch_names(self) -> frozenset[str]:
        """Batches that have a readable file."""
        return frozenset(self.batches)

    @cached_property
    def absent_batches(self) -> tuple[str, ...]:
        """Batches that others name and that have no readable file."""
        named: set[str] = {*self.jars, *self.stability}
        for batch in self.made:
            named |= {parent.batch for parent in batch.from_}
            named |= {w.batch for w in batch.weighings if w.batch}
        return tuple(sorted(named - self.batch_names))

    def jar_names(self, batch_id: str) -> tuple[tuple[str, str], ...]:
        """The jars of a batch, and how each is known: written down, the bulk, or named only."""
        batch = self.batches.get(batch_id)
        jars, stability = self.jars.get(batch_id), self.stability.get(batch_id)
        own = {self.jar(batch, jar.jar): "written down" for jar in jars.jars} if jars else {}
        other = [stay.jar for stay in jars.stays] if jars else []
        other += [done.jar for done in jars.done] if jars else []
        other += [look.jar for look in all_looks(stability)]
        for name in (self.jar(batch, one) for one in other):
            own.setdefault(name, "bulk" if name == "bulk" else "named only")
        return tuple(own.items())

    def jar(self, batch: Batch | None, written: str) -> str:
        """A jar's own name, without its batch."""
        return plain_jar(batch, written) if batch else written

    @property
    def every_batch(self) -> Iterable[str]:
        """All keys of `batches`, in its order."""
        return (*(batch.id for batch in self.made), *self.absent_batches)
