"""Three texts in pieces to one: what one side changed is taken, what both changed is a conflict.

The result doesn't depend on which side is called ours. Where both changed the same, the one whose
text comes first in the order of characters stands in its place; the other is kept beside.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field, replace

from labbook.model.quantities import in_digits
from labbook.notebook.merge_order import Gap, gaps, spine, together
from labbook.notebook.merge_pieces import Key, Piece

ORDERED = frozenset({("method",), ("steps",)})
"""Lists whose order has a meaning: two additions to one place can't be put in a row unasked."""

_REFERRING = frozenset({"of", "line", "step"})
_THING = ("jar", "line", "reading", "text")
"""What an entry is about: of two remarks of one minute the words tell."""


@dataclass(frozen=True, slots=True)
class Conflict:
    """A place that both sides changed; `other` is the text that gave way, empty if taken out."""

    at: tuple[str, ...]
    other: str


@dataclass(frozen=True, slots=True)
class Renamed:
    """An entry that got another id, since both sides had given one id to different entries."""

    at: tuple[str, ...]
    old: str
    new: str


@dataclass
class Merger:
    """Merges pieces, and notes on the way what could not be decided.

    Attributes:
        referred: ids that corrections, readings or deviations of either side speak of; such an
            entry keeps its id.
    """

    referred: frozenset[str] = frozenset()
    conflicts: list[Conflict] = field(default_factory=list)
    renamed: list[Renamed] = field(default_factory=list)

    # One piece ----------------------------------------------------------------------------------

    def piece(self, at: tuple[str, ...], base: Piece | None, one: Piece, two: Piece) -> Piece:
        """One piece out of what it was and what two sides made of it."""
        lead = merged_lines(base.lead if base else "", one.lead, two.lead)
        if one.body == two.body:
            return replace(one, lead=lead)
        if base is not None and base.body in (one.body, two.body):
            return replace(two if base.body == one.body else one, lead=lead)
        if (inner := self._group(at, base, one, two)) is not None:
            return replace(inner, lead=lead)
        first, second = sorted((one, two), key=lambda piece: piece.body)
        self.conflicts.append(Conflict(at, second.body))
        return replace(first, lead=lead)

    def _group(
        self, at: tuple[str, ...], base: Piece | None, one: Piece, two: Piece
    ) -> Piece | None:
        """A group merged item by item; None where the three are not groups of one kind."""
        if one.items is None or two.items is None or one.listed != two.listed:
            return None
        before: Sequence[Piece] = ()
        heads = {one.head, two.head}
        if base is not None and base.items is not None and base.listed == one.listed:
            before = base.items
            heads = heads - {base.head} if len(heads) > 1 else heads
        elif base is not None and base.data not in ("", [], {}):
            return None
        if len(heads) > 1:
            return None
        items = self.items(at, before, one.items, two.items, listed=one.listed)
        return replace(one, head=heads.pop(), items=tuple(items))

    # A row of pieces ----------------------------------------------------------------------------

    def items(
        self,
        at: tuple[str, ...],
        base: Sequence[Piece],
        ours: Sequence[Piece],
        theirs: Sequence[Piece],
        *,
        listed: bool = False,
    ) -> list[Piece]:
        """The items of a group, or of a whole text."""
        if listed:
            ours, theirs = self._told_apart(at, base, ours, theirs)
        three = [{piece.key: piece for piece in side} for side in (base, ours, theirs)]
        before, one, two = (list(side) for side in three)
        kept: dict[Key, Piece] = {}
        for key in dict.fromkeys(key for side in three for key in side):
            old, here, there = (side.get(key) for side in three)
            found = self._kept((*at, said(key)), old, here, there)
            if found is not None:
                kept[key] = found
        ordered = listed and at in ORDERED
        order, disagree = spine(before, one, two)
        if disagree and ordered:
            self._order_conflict(at, order, ours, theirs)
        order = [key for key in order if key in kept]
        between = gaps(order, before, one, two, kept.keys())
        # Lines in the short form are keys, and a row all the same.
        row = listed or at[-1:] == ("lines",)
        return self._in_order(at, between, kept, ordered=ordered, row=row)

    def _kept(
        self, at: tuple[str, ...], base: Piece | None, one: Piece | None, two: Piece | None
    ) -> Piece | None:
        if one is not None and two is not None:
            return self.piece(at, base, one, two)
        left = one or two
        if base is None or left is None:
            return left
        if left.body == base.body and not _added(base.lead, left.lead):
            return None  # taken out by the other side, and as it was on this one
        self.conflicts.append(Conflict(at, ""))
        return left

    def _in_order(
        self,
        at: tuple[str, ...],
        between: Sequence[Gap],
        kept: dict[Key, Piece],
        *,
        ordered: bool,
        row: bool,
    ) -> list[Piece]:
        found: list[Piece] = []
        for gap in between:
            if gap.after is not None:
                found.append(kept[gap.after])
            if row and gap.both and (ordered or gap.taken_out):
                found += self._one_run(at, gap, kept)
            else:
                keys = together(gap, lambda key: (kept[key].moment, kept[key].body))
                found += [kept[key] for key in keys]
        return found

    def _one_run(self, at: tuple[str, ...], gap: Gap, kept: dict[Key, Piece]) -> list[Piece]:
        """Two rows in one place, of which only one can be meant: the first by its text stands."""
        first, second = sorted(
            ([kept[key] for key in run] for run in gap.runs),
            key=lambda run: "".join(piece.body for piece in run),
        )
        shared = {piece.key for piece in first}
        other = [piece for piece in second if piece.key not in shared]
        self.conflicts.append(Conflict(at, "".join(piece.text for piece in other)))
        return first

    def _order_conflict(
        self,
        at: tuple[str, ...],
        order: Sequence[Key],
        ours: Sequence[Piece],
        theirs: Sequence[Piece],
    ) -> None:
        known = set(order)
        for side in (ours, theirs):
            row = [piece for piece in side if piece.key in known]
            if [piece.key for piece in row] != list(order):
                self.conflicts.append(Conflict(at, "".join(piece.body for piece in row)))
                return

    # One id for two entries ---------------------------------------------------------------------

    def _told_apart(
        self,
        at: tuple[str, ...],
        base: Sequence[Piece],
        ours: Sequence[Piece],
        theirs: Sequence[Piece],
    ) -> tuple[Sequence[Piece], Sequence[Piece]]:
        """The sides with a new id for each entry that shares one with another entry over there.

        Two machines that both go on from `o9` both call the next look `o10`.
        """
        old = {piece.key for piece in base}
        new = {piece.key: piece for piece in ours if piece.key not in old and piece.id_at}
        clashing = [
            (new[two.key], two)
            for two in theirs
            if two.key in new and two.id_at and two.body != new[two.key].body
        ]
        used = {piece.data["id"] for piece in (*base, *ours, *theirs) if piece.id_at}
        sides = (list(ours), list(theirs))
        for one, two in sorted(clashing, key=lambda pair: _number(pair[0].data["id"])):
            ident = one.data["id"]
            if ident in self.referred or _one_entry(one, two):
                continue
            later, side = max(((one, 0), (two, 1)), key=lambda each: (each[0].moment, each[0].body))
            fresh = _next(ident, used)
            used.add(fresh)
            number = sides[side].index(later)
            sides[side][number] = later.called(fresh)
            self.renamed.append(Renamed(at, ident, fresh))
        return sides


def said(key: Key) -> str:
    """A key as a word for a place: `beeswax`, `o10`, `room 90 d`."""
    words = key[1:] if len(key) > 1 else key
    return " ".join(word for word in words if word)


def _one_entry(one: Piece, two: Piece) -> bool:
    """Whether two entries are of one moment and one thing: the same one, changed on one side."""
    things = [
        [each.data.get(key) for key in ("jar", "line", "reading", "text")] for each in (one, two)
    ]
    return bool(one.moment) and one.moment == two.moment and things[0] == things[1]


def _number(ident: str) -> tuple[str, int, str]:
    found = re.fullmatch(r"([A-Za-z]+)([0-9]+)(.*)", ident)
    number = in_digits(found[2]) if found else None
    return (found[1], number, found[3]) if found and number is not None else (ident, 0, "")


def _next(ident: str, used: Iterable[str]) -> str:
    """The next free id of the same beginning: `o10` becomes `o12` where `o11` is taken."""
    begin = _number(ident)[0]
    numbers = [number for start, number, _ in map(_number, used) if start == begin]
    return f"{begin}{max(numbers, default=0) + 1}"


def referred_to(items: Iterable[Piece]) -> frozenset[str]:
    """The ids that entries speak of."""
    found: set[str] = set()

    def look(data: object) -> None:
        if isinstance(data, dict):
            found.update(v for k, v in data.items() if k in _REFERRING and isinstance(v, str))
            for value in data.values():
                look(value)
        elif isinstance(data, list):
            for value in data:
                look(value)

    for item in items:
        look(item.data)
    return frozenset(found)


# Comments ----------------------------------------------------------------------------------------


def _added(old: str, new: str) -> list[str]:
    """The lines of a comment that were not there before, blank ones not counted."""
    known = set(old.splitlines())
    return [line for line in new.splitlines() if line.strip() and line not in known]


def merged_lines(base: str, one: str, two: str) -> str:
    """Comments of both sides: what one changed is taken, of what both changed each line is kept."""
    if one == two or two == base:
        return one
    if one == base:
        return two
    first, second = sorted((one, two))
    shared = set(first.splitlines()) & set(second.splitlines())
    old = set(base.splitlines())
    rows = [line for line in first.splitlines(keepends=True) if _stays(line, old, shared)]
    have = set(rows)
    rows += [
        line
        for line in second.splitlines(keepends=True)
        if _stays(line, old, shared) and line not in have and line.strip()
    ]
    return "".join(rows)


def _stays(line: str, old: set[str], shared: set[str]) -> bool:
    """Whether a line of one side's comment stays: all but what the other took out."""
    bare = line.rstrip("\n")
    return bare not in old or bare in shared
