"""Everything that a question about failures needs from a notebook, as plain records."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Mapping
from dataclasses import dataclass, field, replace
from datetime import date
from functools import cached_property
from typing import TypeVar, cast

from labbook.evidence.failure import condition_key
from labbook.evidence.making import last_seen
from labbook.evidence.outcomes import outcomes_of
from labbook.evidence.sightings import BULK, combined_at, plain_jar
from labbook.model.batch import Batch
from labbook.model.formula import Formula
from labbook.model.jars import Jars, Stability
from labbook.model.materials import Equipment, Lot
from labbook.model.moments import day_of, in_order
from labbook.model.results.looking import BatchOutcome
from labbook.model.rulebook import RuleBook
from labbook.model.sheets import Sheets
from labbook.trade.standing import standing

_T = TypeVar("_T")


class Standing(Mapping[str, Batch]):
    """Batches as they stand after their corrections, each worked out when it is asked for."""

    def __init__(self, first: Mapping[str, Batch]) -> None:
        self._first = first
        self._held: dict[str, Batch] = {}

    def __getitem__(self, id_: str) -> Batch:
        held = self._held.get(id_)
        if held is None:
            held = self._held[id_] = standing(self._first[id_])
        return held

    def __contains__(self, id_: object) -> bool:
        return id_ in self._first

    def __iter__(self) -> Iterator[str]:
        return iter(self._first)

    def __len__(self) -> int:
        return len(self._first)


@dataclass(frozen=True, kw_only=True)
class Book:
    """The notebook as the factors see it.

    `batches`, `jars`, `stability` and `contents` go by the batch's full id; batches are held as
    they stand after their corrections. Of a large notebook a question needs few, so they may be
    mappings that read one when it is asked for. `contents` holds the formula content that each
    batch is pinned to, where it is known. `formulas` are today's, by code: their acceptance limits
    judge all batches alike. What was worked out once is kept for the next question.
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
        object.__setattr__(self, "batches", Standing(self.batches))

    # What is asked of all batches; a notebook with an index knows it without reading them --------

    @cached_property
    def _made_of(self) -> Mapping[str, Iterable[str]]:
        found: dict[str, list[str]] = {}
        for id_, batch in self.batches.items():
            found.setdefault(batch.formula.id, []).append(id_)
        return found

    def made_of(self, formula_id: str) -> Iterable[str]:
        """The ids of the batches of a formula, dropped ones too."""
        return self._made_of.get(formula_id, ())

    def suspects(self) -> Iterable[tuple[date, str]]:
        """Batches on which anything was seen that may be a failure, and not after which day."""
        found = ((batch.id, self.last_suspicion(batch)) for batch in self.batches.values())
        return [(day, id_) for id_, day in found if day is not None]

    def may_name(self, lot: str) -> Iterable[str]:
        """The ids of the batches that may have taken something of a lot."""
        return self.batches

    def keep(self, key: tuple[str, ...], work_out: Callable[[], _T]) -> _T:
        """What stands under a key, worked out on the first asking."""
        if key not in self._kept:
            self._kept[key] = work_out()
        return cast("_T", self._kept[key])

    @cached_property
    def _by_id(self) -> dict[str, Formula]:
        found: dict[str, Formula] = {}
        for formula in self.formulas.values():
            found.setdefault(formula.id, formula)
        return found

    def formula_of(self, batch: Batch) -> Formula | None:
        """The formula of a batch as it stands today."""
        return self._by_id.get(batch.formula.id)

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
        if stability is not None and may_show_failure(stability):
            return True
        observed = last_seen(batch, "emulsion type")
        return bool(observed) and observed != self.meant(batch)

    def last_suspicion(self, batch: Batch) -> date | None:
        """The last day on which anything was seen that can be a failure; None where nothing was."""
        if not self.may_have_failed(batch):
            return None
        return last_sight(batch, self.stability.get(batch.id))

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
        found = [self.batches[one] for id_ in ids for one in self.made_of(id_)]
        kept = (batch for batch in found if not batch.dropped)
        return tuple(sorted(kept, key=lambda b: (in_order(b.made), b.id)))


def may_show_failure(stability: Stability) -> bool:
    """Whether anything in these looks can be a failure."""
    return bool(stability.corrections) or any(
        look.grade or look.modes or look.value is not None for look in stability.looks
    )


def last_sight(batch: Batch, stability: Stability | None) -> date:
    """The last day on which anything was seen of a batch."""
    days = [day_of(look.time) for look in stability.looks] if stability else []
    return max([day_of(combined_at(batch)), *days])
