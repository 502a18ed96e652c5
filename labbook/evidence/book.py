"""Everything that a question about failures needs from a notebook, as plain records."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass, field, replace
from datetime import date
from typing import TypeVar, cast

from labbook.evidence.failure import condition_key
from labbook.evidence.making import last_seen
from labbook.evidence.outcomes import outcomes_of
from labbook.evidence.sightings import BULK, plain_jar
from labbook.model.batch import Batch
from labbook.model.formula import Formula
from labbook.model.jars import Jars, Stability
from labbook.model.materials import Equipment, Lot
from labbook.model.moments import in_order
from labbook.model.results.looking import BatchOutcome
from labbook.model.rulebook import RuleBook
from labbook.model.sheets import Sheets
from labbook.trade.standing import standing

_T = TypeVar("_T")


@dataclass(frozen=True, kw_only=True)
class Book:
    """The notebook as the factors see it.

    `batches`, `jars`, `stability` and `contents` go by the batch's full id; batches are held as
    they stand after their corrections. `contents` holds the formula content that each batch is
    pinned to, where it is known. `formulas` are today's, by code: their acceptance limits judge all
    batches alike. What was worked out once is kept for the next question.
    """

    batches: Mapping[str, Batch]
    jars: Mapping[str, Jars] = field(default_factory=dict)
    stability: Mapping[str, Stability] = field(default_factory=dict)
    contents: Mapping[str, Formula] = field(default_factory=dict)
    formulas: Mapping[str, Formula] = field(default_factory=dict)
    sheets: Sheets = field(default_factory=Sheets)
    lots: Mapping[str, Lot] = field(default_factory=dict)
    equipment: Mapping[str, Equipment] = field(default_factory=dict)
    rules: RuleBook = field(default_factory=RuleBook)
    today: date
    _kept: dict[tuple[str, ...], object] = field(
        default_factory=dict, init=False, repr=False, compare=False
    )

    def __post_init__(self) -> None:
        """Applies the corrections of closed batches, once for everybody who asks."""
        held = {id_: standing(batch) for id_, batch in self.batches.items()}
        object.__setattr__(self, "batches", held)

    def keep(self, key: tuple[str, ...], work_out: Callable[[], _T]) -> _T:
        """What stands under a key, worked out on the first asking."""
        if key not in self._kept:
            self._kept[key] = work_out()
        return cast("_T", self._kept[key])

    def formula_of(self, batch: Batch) -> Formula | None:
        """The formula of a batch as it stands today."""
        return next((f for f in self.formulas.values() if f.id == batch.formula.id), None)

    def outcomes(self, batch: Batch) -> tuple[BatchOutcome, ...]:
        """What became of a batch, for each condition and group of failure."""
        return self.keep(
            ("outcomes", batch.id),
            lambda: outcomes_of(
                batch, self.jars.get(batch.id), self.stability.get(batch.id), self.formula_of(batch)
            ),
        )

    def outcomes_in(self, batch: Batch, condition: str) -> tuple[BatchOutcome, ...]:
        """What became of a batch in one condition, and in those that the same jars went through.

        The same as `outcomes` says of that condition, without working out the others.
        """
        if ("outcomes", batch.id) in self._kept:
            return self.outcomes(batch)
        key = condition_key(condition)
        return self.keep(("outcomes", batch.id, key), lambda: self._outcomes_in(batch, key))

    def _outcomes_in(self, batch: Batch, key: str) -> tuple[BatchOutcome, ...]:
        jars, stability = self.jars.get(batch.id), self.stability.get(batch.id)
        moved = stability and any(c.key in ("jar", "condition") for c in stability.corrections)
        if jars is None or stability is None or moved:
            return self.outcomes(batch)
        stays = [(plain_jar(batch, s.jar), s.condition) for s in jars.stays]
        looks = [(plain_jar(batch, s.jar), s.condition or "") for s in stability.looks]
        wanted = {jar for jar, where in (*stays, *looks) if condition_key(where) == key} | {BULK}
        some = replace(
            jars, stays=tuple(s for s in jars.stays if plain_jar(batch, s.jar) in wanted)
        )
        seen = replace(
            stability, looks=tuple(s for s in stability.looks if plain_jar(batch, s.jar) in wanted)
        )
        return outcomes_of(batch, some, seen, self.formula_of(batch))

    def may_have_failed(self, batch: Batch) -> bool:
        """Whether anything was seen on a batch that can be a failure; True where that is unsure."""
        stability = self.stability.get(batch.id)
        looks = stability.looks if stability else ()
        if stability and stability.corrections:
            return True
        if any(look.grade or look.modes or look.value is not None for look in looks):
            return True
        observed = last_seen(batch, "emulsion type")
        return bool(observed) and observed != self.meant(batch)

    def meant(self, batch: Batch) -> str:
        """The emulsion type that was meant; empty where that is unknown."""
        content = self.contents.get(batch.id) or self.formula_of(batch)
        return content.emulsion if content else ""

    def emulsion(self, batch: Batch) -> str:
        """The emulsion type that was observed, else the one that was meant."""
        return last_seen(batch, "emulsion type") or self.meant(batch)

    def lineage(self, formula: Formula | None, id_: str = "") -> frozenset[str]:
        """The ids of a formula, of those in its `from:`, and of all their descendants."""
        start = formula.id if formula else id_
        parents = {f.id: self._parent(f) for f in self.formulas.values()}
        found, above = {start}, parents.get(start)
        while above and above not in found:
            found.add(above)
            above = parents.get(above)
        while True:
            below = {child for child, parent in parents.items() if parent in found} - found
            if not below:
                return frozenset(found)
            found |= below

    def _parent(self, formula: Formula) -> str | None:
        code = (formula.from_ or "").partition("@")[0].upper()
        known = self.formulas.get(code)
        return known.id if known else None

    def kin(self, ids: frozenset[str]) -> tuple[Batch, ...]:
        """The batches of these formulas in the order of making, without dropped ones."""
        found = [b for b in self.batches.values() if b.formula.id in ids and not b.dropped]
        return tuple(sorted(found, key=lambda b: (in_order(b.made), b.id)))
