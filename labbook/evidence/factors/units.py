"""The units that count: batches, and jars where jars differ."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field, replace

from labbook.evidence.book import Book
from labbook.evidence.factors.event import Fate, fate_of, jar_unit, state_at
from labbook.evidence.factors.nearest import Candidate, jars_in, traits_of_jars
from labbook.evidence.factors.setting import jar_traits
from labbook.evidence.factors.traits import Traits
from labbook.evidence.factors.types import Event, Side
from labbook.evidence.failure import FAILED
from labbook.model.batch import Batch

Sides = dict[str, list[Side]]
"""For each unit its side of every difference, in one order."""


@dataclass(frozen=True, slots=True)
class Unit:
    """One unit: its batch, what became of it, and what is known of its jars.

    `shares` is False for a further jar of a batch, which counts for what differs between jars only.
    """

    name: str
    batch: Batch
    fate: Fate
    jars: Traits = field(default_factory=dict)
    shares: bool = True


def units_of(
    book: Book, event: Event, fates: Sequence[Fate], pair: Sequence[Candidate], *, by_jar: bool
) -> list[Unit]:
    """The units of these batches; jar by jar where jars are what differs."""
    found: list[Unit] = []
    for fate in fates:
        batch = book.batches[fate.batch]
        named = [one for one in pair if one.batch.id == batch.id]
        if by_jar and not fate.making:
            found += _by_jar(book, event, batch, fate, named)
            continue
        one = next(iter(named), None)
        own = one.fate if one is not None and one.jar else None
        found.append(Unit(one.unit if one else batch.id, batch, own or fate))
    return found


def _by_jar(
    book: Book, event: Event, batch: Batch, fate: Fate, named: Sequence[Candidate]
) -> list[Unit]:
    """A batch's jars, those alike in container, fill level and place as one."""
    kinds: dict[tuple[object, ...], list[tuple[str, Fate, Traits]]] = {}
    for jar in jars_in(book, batch, event.condition):
        own = fate_of(book, batch, event.condition, event.group, jar)
        if own is None or state_at(own, event) in ("too young", "later"):
            continue
        traits = jar_traits(book, batch, event.condition, [jar])
        same = tuple(sorted((key, trait.name) for key, trait in traits.items()))
        kinds.setdefault(same, []).append((jar, own, traits))
    if not kinds:
        known = traits_of_jars(book, Candidate(batch, "", fate), event.condition, failed=False)
        return [Unit(next((n.unit for n in named), batch.id), batch, fate, known)]
    units = [_alike(batch, group) for group in kinds.values()]
    asked = {one.jar for one in named if one.jar}
    lead = next((u for u in units if state_at(u.fate, event) == FAILED), units[0])
    found = []
    for unit, group in zip(units, kinds.values(), strict=True):
        mine = next((jar for jar, _, _ in group if jar in asked), "")
        name = jar_unit(batch, mine) if mine else batch.id if unit is lead else unit.name
        found.append(replace(unit, name=name, shares=unit is lead))
    return found


def _alike(batch: Batch, group: Sequence[tuple[str, Fate, Traits]]) -> Unit:
    """Jars that are alike, as one: the smallest last intact and the smallest first failed."""
    fates = [fate for _, fate, _ in group]
    lows = [f.last_intact for f in fates if f.last_intact is not None]
    failed = [f for f in fates if f.first_failed is not None]
    first = min(failed, key=lambda f: f.first_failed or 0.0, default=fates[0])
    low = min(lows) if len(lows) == len(fates) else None
    name = jar_unit(batch, group[0][0])
    return Unit(name, batch, replace(first, unit=name, last_intact=low), group[0][2])
