"""A material difference between two profiles, before rules and sides are looked up."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field, replace
from fractions import Fraction

from labbook.evidence.factors.material import MattersFrom
from labbook.evidence.factors.traits import Trait
from labbook.evidence.factors.types import Key
from labbook.evidence.items import Item, Part


@dataclass(frozen=True, slots=True)
class Move:
    """Points of percent by which an ingredient differs, and whether it lies in the water phase.

    `lent` marks a consequence of what somebody did to another line; `via` is the blend that brings
    the ingredient.
    """

    sheet: str
    failed: Fraction
    good: Fraction
    in_water: bool = False
    lent: bool = False
    via: str = ""


@dataclass(frozen=True, slots=True)
class Effect:
    """A difference in another kind of figure that comes with one: a gap with a temperature.

    `failed` and `good` are in `base`; None for names. `turned`: more of the effect is less of the
    difference itself.
    """

    kind: str
    failed: Fraction | None = None
    good: Fraction | None = None
    base: str = ""
    acts: frozenset[str] = frozenset()
    sheets: tuple[str, ...] = ()
    lent: bool = False


@dataclass(frozen=True, slots=True, kw_only=True)
class Diff:
    """One difference of the pair.

    `moves` are its amounts, own ones first; `effects` its figures of other kinds. `step` is from
    when on two values count as different. `parts` are the differences that were joined into it,
    `hidden` those that are folded into it as long as no batch tells them apart. `extra` are further
    ingredients that it is about. `inside` are the components of a blend that differ with it; `open`
    is what blends of the pair may hold of the ingredient without saying so, in percent by blend.
    """

    key: Key
    kind: str
    what: str
    failed: Trait
    good: Trait
    step: MattersFrom
    moves: tuple[Move, ...] = ()
    effects: tuple[Effect, ...] = ()
    folded: tuple[Item, ...] = ()
    parts: tuple[Diff, ...] = ()
    sheets: tuple[str, ...] = ()
    planned: bool = False
    phase: str = ""
    shopping: str = ""
    extra: tuple[str, ...] = ()
    hidden: tuple[Diff, ...] = ()
    inside: tuple[Diff, ...] = ()
    open: Mapping[str, Fraction | None] = field(default_factory=dict)

    @property
    def ordered(self) -> bool:
        """Whether its values have an order."""
        return (
            self.failed.value is not None
            and self.good.value is not None
            and self.failed.base == self.good.base
            and self.kind != "skipped"
        )

    @property
    def points(self) -> Fraction:
        """The change in percent that somebody decided on, from the good batch to the failed one."""
        return sum((m.failed - m.good for m in self.moves if not m.lent), Fraction())

    def item(self, word: str = "follows") -> Item:
        """The difference as an item: a is the failed batch, b the good one."""
        one_unit = self.failed.unit == self.good.unit
        return Item(
            part=PARTS.get(self.key[0], "steps"),
            what=self.what,
            a=self.failed.text if one_unit else self.failed.whole,
            b=self.good.text if one_unit else self.good.whole,
            unit=self.failed.unit if one_unit else "",
            word="follows" if word == "follows" else "changed",
            key=self.key,
            a_value=self.failed.value,
            b_value=self.good.value,
        )

    def with_folded(self, other: Diff, *effects: Effect) -> Diff:
        """This difference with another one as its consequence."""
        return replace(
            self,
            folded=(*self.folded, other.item(), *other.folded),
            effects=(*self.effects, *effects),
        )


PARTS: dict[str, Part] = {
    "lines": "lines", "lots": "lots", "equipment": "equipment", "steps": "steps",
    "readings": "readings", "deviations": "deviations", "size": "size", "room": "room",
    "session": "session",
}  # fmt: skip
"""The part of a notebook that the first word of a key names."""
