"""The units that count: batches, jars where jars differ, and parts of one bulk only once.

What sisters share is counted for one of them; the others count for what tells them apart.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field, replace

from labbook.evidence.book import Book
from labbook.evidence.factors.event import Fate, fate_of, jar_unit, seen, state_at
from labbook.evidence.factors.nearest import Candidate, jars_in, traits_of_jars
from labbook.evidence.factors.setting import jar_traits
from labbook.evidence.factors.stuff import split_parent
from labbook.evidence.factors.traits import Traits
from labbook.evidence.factors.types import Event, Seen, Side
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


# Sisters -----------------------------------------------------------------------------------------


def bulk_of(book: Book, batch: Batch) -> str:
    """The id of the bulk that a batch came from by splitting; its own where it didn't."""
    seen_ids = {batch.id}
    while (found := split_parent(book, batch)) is not None and found[0].id not in seen_ids:
        batch = found[0]
        seen_ids.add(batch.id)
    return batch.id


def counted_once(
    book: Book,
    event: Event,
    units: Sequence[Unit],
    sides: Sides,
    of_jars: Sequence[bool],
    first: Mapping[str, int],
) -> tuple[list[Unit], list[Seen], list[tuple[str, str]]]:
    """Takes what sisters share from all but one of them; changes `sides` in place.

    Args:
        book: the notebook.
        event: the event.
        units: all units.
        sides: their sides.
        of_jars: which differences are between jars.
        first: units that go before their sisters, by rank: the pair.

    Returns:
        The units left, what became of each, and the sisters that are like another in everything.
    """
    families: dict[str, list[Unit]] = {}
    for unit in units:
        families.setdefault(bulk_of(book, unit.batch), []).append(unit)
    states = {unit.name: replace(seen(unit.fate, event), unit=unit.name) for unit in units}
    gone: dict[str, str] = {}
    for members in families.values():
        if len(members) > 1:
            _one_family(members, sides, of_jars, first, states, gone)
    left = [unit for unit in units if unit.name not in gone]
    out = [(name, f"counts as one with {states[kept].unit}") for name, kept in gone.items()]
    return left, [states[unit.name] for unit in left], out


def _one_family(
    members: Sequence[Unit],
    sides: Sides,
    of_jars: Sequence[bool],
    first: Mapping[str, int],
    states: dict[str, Seen],
    gone: dict[str, str],
) -> None:
    rank = {"failed": 0, "intact": 1, "undecided": 2}
    ordered = sorted(
        members,
        key=lambda u: (not u.shares, first.get(u.name, 9), rank[states[u.name].state], u.name),
    )
    before: list[tuple[str, list[Side]]] = []
    for unit in ordered:
        own = list(sides[unit.name])
        twin = next((n for n, s in before if _vector(s) == _vector(own)), None)
        if twin is not None and unit.name not in first:
            gone[unit.name] = twin
            states[twin] = _merged(states[twin], states[unit.name])
            continue
        kept = []
        for index, side in enumerate(own):
            shared = [n for n, s in before if s[index].side == side.side]
            apart = of_jars[index] and not shared
            if before and not apart and (shared or not unit.shares):
                kept.append(Side(None, f"shared with {(shared or [before[0][0]])[0]}", "other"))
            else:
                kept.append(side)
        before.append((unit.name, own))
        sides[unit.name] = kept


def _vector(sides: Sequence[Side]) -> tuple[bool | None, ...]:
    return tuple(side.side for side in sides)


def _merged(one: Seen, other: Seen) -> Seen:
    """Sisters alike in everything as one: failed where one of them did."""
    for state in ("failed", "intact"):
        found = next((s for s in (one, other) if s.state == state), None)
        if found is not None:
            return replace(one, state=found.state, text=found.text)
    return one
