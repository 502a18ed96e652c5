"""Parts of one bulk: what they share counts once.

Parts that ended alike are one failure, or one that held: on the failed side of what all that failed
had, or of what any that held had. Where some failed and some held the bulk failed: of a part that
held only what it had beyond the others is counted, for held against each other the parts say best
what split them.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field, replace

from labbook.evidence.book import Book
from labbook.evidence.factors.event import seen
from labbook.evidence.factors.stuff import split_parent
from labbook.evidence.factors.types import Event, Seen, Side
from labbook.evidence.factors.units import Sides, Unit
from labbook.model.batch import Batch

_RANK = {"failed": 0, "intact": 1, "undecided": 2}


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
        The units left, what became of each, and the sisters for which another one speaks.
    """
    families: dict[str, list[Unit]] = {}
    for unit in units:
        families.setdefault(bulk_of(book, unit.batch), []).append(unit)
    states = {unit.name: replace(seen(unit.fate, event), unit=unit.name) for unit in units}
    gone: dict[str, str] = {}
    held: set[str] = set()
    for members in families.values():
        if len(members) > 1:
            family = _Family(sides, of_jars, first, states)
            family.count(members)
            gone |= family.gone
            held |= family.held
    left = [unit for unit in units if unit.name not in gone]
    return left, [states[unit.name] for unit in left], _left_out(gone, held)


def _left_out(gone: Mapping[str, str], held: set[str]) -> list[tuple[str, str]]:
    found = []
    for name, kept in gone.items():
        while kept in gone:
            kept = gone[kept]
        why = f"counts as one with {kept}"
        found.append((name, f"held, but {why}, which failed" if name in held else why))
    return found


@dataclass(slots=True)
class _Family:
    """The parts of one bulk, jars too.

    `gone` names the parts for which another one speaks, and `held` those of them that held while
    that one failed.
    """

    sides: Sides
    of_jars: Sequence[bool]
    first: Mapping[str, int]
    states: dict[str, Seen]
    gone: dict[str, str] = field(default_factory=dict)
    held: set[str] = field(default_factory=set)

    def count(self, members: Sequence[Unit]) -> None:
        """Parts alike become one, then those that ended alike; the rest is told apart."""
        left: list[Unit] = []
        for unit in sorted(members, key=self._place):
            twin = next((k for k in left if self._vector(k) == self._vector(unit)), None)
            if twin is None or unit.name in self.first:
                left.append(unit)
                continue
            self.gone[unit.name] = twin.name
            self.states[twin.name] = _merged(self.states[twin.name], self.states[unit.name])
        self._apart(self._alike(left))

    def _place(self, unit: Unit) -> tuple[object, ...]:
        """The pair first, then failed ones; the plainest that failed says most, and held least."""
        state = self.states[unit.name].state
        has = len(self._has(unit))
        most = has if state == "failed" else -has
        return (not unit.shares, self.first.get(unit.name, 9), _RANK[state], most, unit.name)

    def _vector(self, unit: Unit) -> tuple[bool | None, ...]:
        return tuple(side.side for side in self.sides[unit.name])

    def _has(self, unit: Unit) -> set[int]:
        return {i for i, side in enumerate(self._vector(unit)) if side}

    def _alike(self, units: Sequence[Unit]) -> list[Unit]:
        left: list[Unit] = []
        for unit in sorted(units, key=self._place):
            like = next((kept for kept in left if self._takes_in(kept, unit)), None)
            if like is None:
                left.append(unit)
                continue
            self.gone[unit.name] = like.name
            failed = self.states[unit.name].state == "failed"
            pairs = zip(self.sides[like.name], self.sides[unit.name], strict=True)
            self.sides[like.name] = [_as_one(a, b, unit, failed=failed) for a, b in pairs]
        return left

    def _takes_in(self, kept: Unit, other: Unit) -> bool:
        """Whether two parts that ended alike are one failure, or one that held.

        The good batch of the pair stays as it is. Two that failed each with something of its own
        stay two where they have nothing else in common that could have done it.
        """
        state = self.states[other.name].state
        if other.name in self.first or self.states[kept.name].state != state:
            return False
        if state == "failed":
            one, two = self._has(kept), self._has(other)
            return bool(one & two) or one <= two or two <= one
        return state == "intact" and kept.name not in self.first

    def _apart(self, left: Sequence[Unit]) -> None:
        """Makes the parts that are left silent on what one before them speaks for."""
        before: list[tuple[Unit, list[Side]]] = []
        for unit in left:
            own = list(self.sides[unit.name])
            kept = [self._own(unit, index, side, before) for index, side in enumerate(own)]
            failed = next((u for u, _ in before if self.states[u.name].state == "failed"), None)
            if failed is not None and self._says_nothing(unit, kept):
                self.gone[unit.name] = failed.name
                self.held.add(unit.name)
                continue
            before.append((unit, own))
            self.sides[unit.name] = kept

    def _own(
        self, unit: Unit, index: int, side: Side, before: Sequence[tuple[Unit, list[Side]]]
    ) -> Side:
        """A side, silenced where a part before this one has the same."""
        shared = [u.name for u, sides in before if sides[index].side == side.side]
        apart = self.of_jars[index] and not shared
        if not before or apart or not (shared or not unit.shares):
            return side
        with_ = (shared or [before[0][0].name])[0]
        return Side(False if side.side is False else None, f"shared with {with_}", "shared")

    def _says_nothing(self, unit: Unit, kept: Sequence[Side]) -> bool:
        """Whether a part held that has nothing of its own which could have made it fail."""
        if unit.name in self.first or not unit.shares:
            return False
        return self.states[unit.name].state == "intact" and not any(side.side for side in kept)


def _as_one(own: Side, other: Side, unit: Unit, *, failed: bool) -> Side:
    """The side of two parts that ended alike.

    A bulk that failed without a thing needs no such thing to fail; one that held with it held.
    """
    if own.side is None or other.side is None or own.side == other.side:
        return own
    short = unit.name.rsplit("-", 1)[-1]
    if not failed:
        return own if own.side else Side(True, f"{other.text} in {short}")
    return Side(False, f"{own.text}, and {short} failed without", "shared") if own.side else own


def _merged(one: Seen, other: Seen) -> Seen:
    """Sisters alike in everything as one: failed where one of them did."""
    for state in ("failed", "intact"):
        found = next((s for s in (one, other) if s.state == state), None)
        if found is not None:
            return replace(one, state=found.state, text=found.text)
    return one
