"""Differences in what blends hold: folded into the blend, or factors of their own.

Where a blend differs, what it holds differs with it and lends it its rules. A component that comes
in by two ways that differ is a difference by itself, and one that another batch has without the
blend can be told apart from it.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from fractions import Fraction

from labbook.evidence.factors.diffs import Diff, Move
from labbook.evidence.factors.profile import Profile
from labbook.evidence.factors.stuff import NONE, Stuff, amount_trait
from labbook.evidence.factors.trade import Trade
from labbook.evidence.factors.traits import indistinct
from labbook.evidence.factors.types import Unrecorded
from labbook.model.sheets import Sheets

_LEAST = Fraction(1, 10)
"""Points that a blend may hold unsaid before it leaves a difference open, as for any amount."""


@dataclass(frozen=True, slots=True)
class Whole:
    """What was done to lines, blends taken apart, and what their sheets don't say."""

    acts: tuple[Diff, ...]
    unsaid: tuple[Unrecorded, ...]


def whole_amounts(
    failed: Profile,
    good: Profile,
    sheets: Sheets,
    trade: Trade,
    acts: Sequence[Diff],
    *,
    as_meant: bool,
) -> Whole:
    """The differences in lines by what is in the batches altogether.

    Args:
        failed: the failed batch.
        good: the good one.
        sheets: the ingredient sheets.
        trade: the rules that hold.
        acts: the differences by lines alone.
        as_meant: compare the plans.
    """
    pair = _Pair(failed, good, sheets, trade, as_meant)
    own: list[Diff] = []
    unsaid: list[Unrecorded] = []
    for act in acts:
        if act.kind != "amount":
            own.append(act)
        elif (said := pair.unsaid(act.sheets[0])) is not None:
            unsaid.append(said)
        elif act.sheets[0] not in pair.brought:
            own.append(replace(act, open=pair.open))
        elif (found := pair.difference(act.sheets[0], act.phase)) is not None:
            first = replace(found.moves[0], in_water=act.moves[0].in_water)
            own.append(replace(found, moves=(first, *act.moves[1:])))
    held = {sheet for act in acts for sheet in act.sheets}
    for sheet in sorted(pair.brought - held):
        own = pair.placed(sheet, own)
    return Whole(tuple(own), tuple(unsaid))


@dataclass(slots=True)
class _Pair:
    failed: Profile
    good: Profile
    sheets: Sheets
    trade: Trade
    as_meant: bool

    @property
    def stuffs(self) -> tuple[Stuff, Stuff]:
        return self.failed.stuff, self.good.stuff

    @property
    def brought(self) -> set[str]:
        return {sheet for stuff in self.stuffs for sheet in stuff.inside.brought}

    @property
    def open(self) -> dict[str, Fraction | None]:
        """The most that each blend of the two may hold unsaid."""
        found: dict[str, Fraction | None] = {}
        for stuff in self.stuffs:
            for blend, most in stuff.inside.rest.items():
                before = found.get(blend, Fraction())
                known = most is not None and before is not None
                found[blend] = max(most or Fraction(), before or Fraction()) if known else None
        return found

    def difference(self, sheet: str, phase: str = "") -> Diff | None:
        """A material difference in an ingredient by all ways that it comes in."""
        name = self.sheets.name_of(sheet)
        one, other = (
            amount_trait(stuff, sheet, name, phase, as_meant=self.as_meant) for stuff in self.stuffs
        )
        if one is None or other is None or one.value is None or other.value is None:
            return None
        step = self.trade.step("amount", "%", (sheet,), frozenset(), one.value, other.value)
        apart = NONE in (one.text, other.text) or step.apart(one.value, other.value)
        if indistinct(one, other) or not apart:
            return None
        return Diff(
            key=("lines", sheet, "in", phase) if phase else ("lines", sheet),
            kind="amount",
            what=name + (f" in phase {phase}" if phase else ""),
            failed=one,
            good=other,
            step=step,
            moves=(Move(sheet, one.value, other.value),),
            sheets=(sheet,),
            phase=phase,
            open=self.open,
        )

    def unsaid(self, sheet: str) -> Unrecorded | None:
        """That a blend of one of the two holds some of an ingredient, and nothing says how much."""
        failed, good = (
            {b: stuff.inside.rest.get(b) for b in stuff.inside.unsaid.get(sheet, ())}
            for stuff in self.stuffs
        )
        for blend in sorted({*failed, *good}):
            a, b = failed.get(blend, Fraction()), good.get(blend, Fraction())
            if a is not None and b is not None and abs(a - b) <= _LEAST:
                continue
            more = a is None or (b is not None and a > b)
            name = self.sheets.name_of(blend)
            return Unrecorded(
                key=("lines", sheet, "inside", blend),
                what=f"how much {self.sheets.name_of(sheet)} is in {name}",
                failed=f"some in {name}" if blend in failed else None,
                good=f"some in {name}" if blend in good else None,
                missing=(self.failed if more else self.good).batch.id,
                line=f"labbook edit {name}",
            )
        return None

    def placed(self, sheet: str, acts: list[Diff]) -> list[Diff]:
        """The differences with one component: within the blend that brings it, or beside it."""
        found = self.difference(sheet)
        if found is None:
            return acts
        changed = [blend for blend in self._sources(sheet) if self._moved(sheet, blend)]
        if len(changed) > 1:
            return [*acts, found]
        for at, act in enumerate(acts):
            if act.kind in ("amount", "substitution") and set(changed) & set(act.sheets):
                held = _within(act, replace(found, extra=tuple(changed)), changed[0])
                return [*acts[:at], held, *acts[at + 1 :]]
        return acts

    def _sources(self, sheet: str) -> list[str]:
        return sorted({b for stuff in self.stuffs for b in stuff.inside.brought.get(sheet, ())})

    def _moved(self, sheet: str, blend: str) -> bool:
        amounts = [stuff.inside.amount(sheet, blend=blend) for stuff in self.stuffs]
        values = [amount.value or Fraction() if amount else Fraction() for amount in amounts]
        return abs(values[0] - values[1]) > _LEAST or 0 in values


def _within(act: Diff, part: Diff, blend: str) -> Diff:
    move = replace(part.moves[0], lent=True, via=blend)
    return replace(
        act,
        moves=(*act.moves, move),
        folded=(*act.folded, part.item()),
        inside=(*act.inside, part),
    )


# Told apart by other batches ---------------------------------------------------------------------


def components_apart(diffs: Sequence[Diff], stuffs: Sequence[Stuff], sheets: Sheets) -> list[Diff]:
    """Components that some batch has without the blend as factors of their own.

    Where nothing else of the blend is left it is no suspect beside them.

    Args:
        diffs: the differences of a pair.
        stuffs: what the batches that count were made of.
        sheets: the ingredient sheets, for names.
    """
    found: list[Diff] = []
    for diff in diffs:
        apart = [part for part in diff.inside if any(_without(s, part) for s in stuffs)]
        if not apart:
            found.append(diff)
            continue
        left = [part for part in diff.inside if part not in apart]
        if left or diff.kind != "amount" or set(diff.sheets) & set(diff.open):
            found.append(_less(diff, apart, left))
        found += [_promoted(diff, part, sheets) for part in apart]
    return found


def _without(stuff: Stuff, part: Diff) -> bool:
    """Whether a batch has a component and none of the blend that brings it to the pair."""
    amount = stuff.whole(part.sheets[0])
    has = amount is not None and bool(amount.value)
    return has and not any(stuff.phases(blend) for blend in part.extra)


def _promoted(diff: Diff, part: Diff, sheets: Sheets) -> Diff:
    """A component as a difference, with its share of what followed from the blend."""
    names = " and ".join(sheets.name_of(blend) for blend in part.extra)
    share = part.points / diff.points if diff.kind == "amount" and diff.points else Fraction()
    lent = [
        replace(m, failed=m.good + share * (m.failed - m.good))
        for m in diff.moves
        if m.lent and not m.via
    ]
    return replace(
        part,
        what=f"{part.what}, in {names} too",
        moves=(*part.moves, *(lent if share else ())),
        sheets=(*part.sheets, *part.extra),
        extra=(),
    )


def _less(diff: Diff, apart: Sequence[Diff], left: Sequence[Diff]) -> Diff:
    """A blend without the components that stand for themselves."""
    gone = {part.sheets[0] for part in apart}
    keys = {part.key for part in apart}
    return replace(
        diff,
        moves=tuple(m for m in diff.moves if not (m.via and m.sheet in gone)),
        folded=tuple(item for item in diff.folded if item.key not in keys),
        inside=tuple(left),
    )


# What a sheet doesn't say ------------------------------------------------------------------------


def may_hold(
    stuff: Stuff, sheet: str, known: Mapping[str, Fraction | None]
) -> Iterator[tuple[str, Fraction | None, bool]]:
    """Blends that may bring an ingredient unsaid: which, how much at most, whether it is in.

    Args:
        stuff: what the batch was made of.
        sheet: the ingredient.
        known: blends that the others have too, with the most that these may hold; what all have
            makes no difference.
    """
    listed = stuff.inside.unsaid.get(sheet, frozenset())
    for blend, most in stuff.inside.rest.items():
        if blend == sheet or (blend not in listed and blend in stuff.inside.brought.get(sheet, {})):
            continue
        most_of_others = known.get(blend, Fraction())
        both = most is not None and most_of_others is not None
        if blend in known and (not both or (most or 0) <= (most_of_others or 0) + _LEAST):
            continue
        yield blend, most, blend in listed
