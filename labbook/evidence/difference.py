"""What differs between two formulas: lines, method, targets, what follows from it, and the rest."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from fractions import Fraction
from typing import Any

from labbook.evidence.derived import Derived, derived_difference
from labbook.evidence.kinds import Kind, Kinds, Reading, kinds_of
from labbook.evidence.lines import Change, Pair, Slot, match, places_of, slots_of
from labbook.evidence.method import (
    StepChange,
    TargetChange,
    method_difference,
    target_difference,
)
from labbook.evidence.other import OtherChange, other_difference
from labbook.model.formula import Formula
from labbook.model.sheets import Sheets
from labbook.trade.composition import Composition, resolve
from labbook.trade.exact import PLACES, decimal_text, decimals_needed, to_places


@dataclass(frozen=True, slots=True, kw_only=True)
class LineChange:
    """A line that differs.

    `ingredient` is the name in use today, of the later line where one stands for another.
    `from_percent` and `to_percent` are None for a line that isn't there and for an amount that
    isn't known; `points` is then None too, except that a line added or removed counts from 0.
    `ratio` is to ÷ from. `places` is the number of decimals that the amounts were typed with. `qs`
    says whether the line fills up in the later formula (a removed one: in the earlier).
    """

    change: Change
    kind: Kind | None
    ingredient: str
    from_ingredient: str | None
    to_ingredient: str | None
    from_percent: Fraction | None
    to_percent: Fraction | None
    points: Fraction | None
    ratio: Fraction | None
    from_phase: str | None
    to_phase: str | None
    places: int
    qs: bool = False
    from_text: str | None = None
    to_text: str | None = None

    def to_plain(self) -> dict[str, Any]:
        """As JSON data; figures are text, with the digits typed where they are the amount."""
        return {
            "change": self.change,
            "kind": self.kind,
            "ingredient": self.ingredient,
            "from_ingredient": self.from_ingredient,
            "to_ingredient": self.to_ingredient,
            "from_percent": self.from_text,
            "to_percent": self.to_text,
            "points": None if self.points is None else decimal_text(self.points),
            "ratio": None if self.ratio is None else decimal_text(self.ratio),
            "from_phase": self.from_phase,
            "to_phase": self.to_phase,
            "places": self.places,
        }


@dataclass(frozen=True, slots=True)
class Explanation:
    """One of several explanations that are equally good, by the names of the lines.

    `held` kept their figure although the ratio of the others would have changed it.
    """

    deliberate: tuple[str, ...]
    balancing: str | None
    proportional: tuple[str, ...]
    held: tuple[str, ...]

    def to_plain(self) -> dict[str, Any]:
        """As JSON data."""
        return {
            "deliberate": list(self.deliberate),
            "balancing": self.balancing,
            "proportional": list(self.proportional),
            "held": list(self.held),
        }


@dataclass(frozen=True, slots=True, kw_only=True)
class Difference:
    """What differs between two formulas.

    `readings` is empty unless it can't be told why the undecided lines changed. `same_lines`,
    `same_steps` and `same_targets` count what is equal. `emulsions` are the two meant types.
    """

    from_name: str
    to_name: str
    lines: tuple[LineChange, ...] = ()
    method: tuple[StepChange, ...] = ()
    targets: tuple[TargetChange, ...] = ()
    derived: tuple[Derived, ...] = ()
    other: tuple[OtherChange, ...] = ()
    readings: tuple[Explanation, ...] = ()
    pairs: tuple[Pair, ...] = ()
    same_lines: int = 0
    same_steps: int = 0
    same_targets: int = 0
    emulsions: tuple[str, str] = ("", "")

    @property
    def told(self) -> tuple[Derived, ...]:
        """The derived figures that a screen shows; the others stand in the plain data."""
        return tuple(one for one in self.derived if one.told)

    @property
    def empty(self) -> bool:
        """Whether nothing differs, neither in what makes the jar nor in words about it."""
        return not (self.lines or self.method or self.targets or self.other)

    def to_plain(self) -> dict[str, Any]:
        """As JSON data; `readings` is there only where it can't be told why lines changed."""
        parts: dict[str, Sequence[Any]] = {
            "lines": self.lines,
            "method": self.method,
            "targets": self.targets,
            "derived": self.derived,
            "other": self.other,
        }
        if self.readings:
            parts["readings"] = self.readings
        data: dict[str, Any] = {"from": self.from_name, "to": self.to_name}
        return data | {key: [one.to_plain() for one in part] for key, part in parts.items()}


def difference(
    a: Formula,
    b: Formula,
    sheets: Sheets,
    *,
    a_name: str,
    b_name: str,
    extra: tuple[Mapping[str, Any], Mapping[str, Any]] = ({}, {}),
    told: bool = False,
) -> Difference:
    """What differs between two formulas, from `a` to `b`.

    Args:
        a: the earlier formula.
        b: the later one.
        sheets: the ingredient sheets of today, by which names are aliases.
        a_name: what `a` is called, like `SBC@2`.
        b_name: what `b` is called.
        extra: keys of the two files that the format doesn't know, as plain data.
        told: leaves out the derived figures that no screen shows.
    """
    before, after = resolve(a, sheets), resolve(b, sheets)
    pairs = match(slots_of(before.lines), slots_of(after.lines))
    kinds = kinds_of(pairs)
    method, targets = method_difference(a.method, b.method), target_difference(a.targets, b.targets)
    return Difference(
        from_name=a_name,
        to_name=b_name,
        lines=_line_changes(pairs, kinds, _Names(before, after, sheets)),
        method=method,
        targets=targets,
        derived=derived_difference(before, after, sheets, told=told),
        other=other_difference(a, b, sheets, extra),
        readings=tuple(_explanation(one, pairs, sheets) for one in kinds.readings),
        pairs=pairs,
        same_lines=sum(1 for pair in pairs if pair.change is None),
        same_steps=len(b.method) - sum(1 for one in method if one.to_place),
        same_targets=len(b.targets) - sum(1 for one in targets if one.change != "removed"),
        emulsions=(a.emulsion, b.emulsion),
    )


class _Names:
    """Names of ingredients as they are used today, and how many decimals were typed at most."""

    def __init__(self, before: Composition, after: Composition, sheets: Sheets) -> None:
        lines = (*before.lines, *after.lines)
        self._sheets = sheets
        self._written = {line.sheet: line.ingredient for line in lines}
        self.finest = max((places_of(one.typed) for one in lines if one.typed), default=0)

    def of(self, slot: Slot) -> str:
        """The name of the sheet's file; as written where there is no sheet."""
        known = self._sheets.find(slot.sheet)
        return self._sheets.name_of(slot.sheet) if known else self._written[slot.sheet]

    def places(self, slot: Slot | None) -> int:
        """Decimals of an amount: as typed, else as many as the finest of the others were."""
        if slot is None or slot.percent is None:
            return 0
        if slot.typed is not None:
            return places_of(slot.typed)
        needed = decimals_needed(slot.percent)
        return max(PLACES if needed is None else min(needed, PLACES), self.finest)

    def text(self, slot: Slot | None) -> str | None:
        """An amount as it is shown; None where there is none or it isn't known."""
        if slot is None or slot.percent is None:
            return None
        return slot.text if slot.typed else f"{to_places(slot.percent, self.places(slot)):f}"


def _line_changes(pairs: Sequence[Pair], kinds: Kinds, names: _Names) -> tuple[LineChange, ...]:
    return tuple(
        _line_change(pair, pair.change, kind, names)
        for pair, kind in zip(pairs, kinds.kinds, strict=True)
        if pair.change
    )


def _line_change(pair: Pair, change: Change, kind: Kind | None, names: _Names) -> LineChange:
    old, new = pair.before, pair.after
    slot = new or old
    assert slot, "a pair has a line on one side at least"
    start, end = (old.percent if old else None), (new.percent if new else None)
    return LineChange(
        change=change,
        kind=kind,
        ingredient=names.of(slot),
        from_ingredient=names.of(old) if old else None,
        to_ingredient=names.of(new) if new else None,
        from_percent=start,
        to_percent=end,
        points=pair.points,
        ratio=end / start if start and end is not None else None,
        from_phase=old.phase if old else None,
        to_phase=new.phase if new else None,
        places=max(names.places(old), names.places(new)),
        qs=slot.qs,
        from_text=names.text(old),
        to_text=names.text(new),
    )


def _explanation(reading: Reading, pairs: Sequence[Pair], sheets: Sheets) -> Explanation:
    def names(indexes: frozenset[int]) -> tuple[str, ...]:
        slots = [pairs[i].after or pairs[i].before for i in sorted(indexes)]
        return tuple(sheets.name_of(slot.sheet) for slot in slots if slot)

    taken = [] if reading.balancing is None else names(frozenset({reading.balancing}))
    return Explanation(
        names(reading.deliberate),
        taken[0] if taken else None,
        names(reading.proportional),
        names(reading.held),
    )
