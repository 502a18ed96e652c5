"""Which line of one composition is which line of another, and what was done to it.

Lines are matched by ingredient and phase, then by ingredient alone (moved), then one out for one in
of the same phase and the same role or function (substituted). Lines of one ingredient in one phase
count as one, for the jar is the same. Names and former names are aliases of a sheet's id.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from decimal import Decimal
from fractions import Fraction
from typing import Literal

from labbook.model.sheets import fold
from labbook.trade.composition import ResolvedLine
from labbook.trade.exact import decimal_text

Change = Literal["added", "removed", "substituted", "moved", "changed"]
Amounts = Mapping[tuple[str, str], Fraction | None]
"""Percent by (phase, ingredient id)."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Slot:
    """One ingredient in one phase of one composition.

    `half` is half a unit of the last typed digit, in points: the typed figure stands for anything
    that near. `digits` counts its significant digits. A q.s. line has neither digits nor interval
    of its own. `uses` are its role and its sheet's functions.
    """

    phase: str
    sheet: str
    percent: Fraction | None
    typed: Decimal | None = None
    half: Fraction = Fraction()
    digits: int = 0
    qs: bool = False
    uses: frozenset[str] = frozenset()
    index: int = 0

    @property
    def key(self) -> tuple[str, str]:
        """Phase and ingredient id."""
        return (self.phase, self.sheet)

    @property
    def text(self) -> str | None:
        """The percent with the digits typed; None where it isn't known."""
        return None if self.percent is None else decimal_text(self.percent, self.typed)

    @property
    def is_water(self) -> bool:
        """Whether the line is water, or a water of some kind by its sheet."""
        return "water" in self.uses or fold(self.sheet) == "water"


@dataclass(frozen=True, slots=True)
class Pair:
    """A line before and after; `change` is None where nothing was done to it."""

    before: Slot | None
    after: Slot | None
    change: Change | None

    @property
    def points(self) -> Fraction | None:
        """The change in points of percent, a missing line counting 0; None where it isn't known."""
        start = self.before.percent if self.before else Fraction()
        end = self.after.percent if self.after else Fraction()
        return None if start is None or end is None else end - start


def significant_digits(typed: Decimal) -> int:
    """Digits from the first that is not 0: 0.50 has two, 70.40 has four, 100 has three."""
    return len(typed.as_tuple().digits) if typed else 1


def places_of(typed: Decimal) -> int:
    """How many decimals were typed: two for 0.50."""
    exponent = typed.as_tuple().exponent
    return max(0, -exponent) if isinstance(exponent, int) else 0


def half_unit(typed: Decimal) -> Fraction:
    """Half a unit of the last typed digit: 0.005 for 0.50."""
    exponent = typed.as_tuple().exponent
    assert isinstance(exponent, int), "percents are finite numbers"
    return Fraction(10) ** exponent / 2


def slots_of(lines: Iterable[ResolvedLine]) -> tuple[Slot, ...]:
    """The lines of a composition as slots, lines of one ingredient in one phase taken together."""
    grouped: dict[tuple[str, str], list[ResolvedLine]] = {}
    for line in lines:
        grouped.setdefault((line.phase, line.sheet), []).append(line)
    return tuple(_slot(phase, sheet, group) for (phase, sheet), group in grouped.items())


def _slot(phase: str, sheet: str, lines: Sequence[ResolvedLine]) -> Slot:
    typed = [line.typed for line in lines if line.typed is not None and not line.qs]
    percents = [line.percent for line in lines if line.percent is not None]
    complete = len(percents) == len(lines)
    uses = {use for line in lines for use in (line.role, *line.functions) if use}
    return Slot(
        phase=phase,
        sheet=sheet,
        percent=sum(percents, Fraction()) if complete else None,
        typed=sum(typed, Decimal()) if typed and len(typed) == len(lines) else None,
        half=sum((half_unit(one) for one in typed), Fraction()),
        digits=min((significant_digits(one) for one in typed), default=0),
        qs=any(line.qs for line in lines),
        uses=frozenset(uses),
        index=lines[0].index,
    )


def amounts(slots: Iterable[Slot]) -> dict[tuple[str, str], Fraction | None]:
    """Percent by phase and ingredient id."""
    return {slot.key: slot.percent for slot in slots}


def match(before: Sequence[Slot], after: Sequence[Slot]) -> tuple[Pair, ...]:
    """Every line of either side, matched as far as it can be; in the order of the files."""
    olds, news = {s.key: s for s in before}, {s.key: s for s in after}
    both = [(olds[key], news[key]) for key in olds if key in news]
    pairs = [Pair(o, n, "changed" if o.percent != n.percent else None) for o, n in both]
    out = [slot for slot in before if slot.key not in news]
    come = [slot for slot in after if slot.key not in olds]
    pairs += (Pair(o, n, "moved") for o, n in _take(out, come, _moves(out, come)))
    pairs += (Pair(o, n, "substituted") for o, n in _take(out, come, _swaps(out, come)))
    pairs += (Pair(slot, None, "removed") for slot in out)
    pairs += (Pair(None, slot, "added") for slot in come)
    return tuple(sorted(pairs, key=_place))


def _place(pair: Pair) -> tuple[int, int]:
    slot = pair.after or pair.before
    assert slot, "a pair has a line on one side at least"
    return (slot.index, pair.after is None)


def _take(
    out: list[Slot], come: list[Slot], found: Sequence[tuple[Slot, Slot]]
) -> Sequence[tuple[Slot, Slot]]:
    """The found pairs, taken out of what is left over on either side."""
    for old, new in found:
        out.remove(old)
        come.remove(new)
    return found


def _moves(out: Sequence[Slot], come: Sequence[Slot]) -> list[tuple[Slot, Slot]]:
    """One ingredient, another phase; with several places the same amounts first, then by letter."""
    found: list[tuple[Slot, Slot]] = []
    for sheet in sorted({slot.sheet for slot in out} & {slot.sheet for slot in come}):
        olds = sorted((s for s in out if s.sheet == sheet), key=lambda s: s.phase)
        news = sorted((s for s in come if s.sheet == sheet), key=lambda s: s.phase)
        equal = [(old, new) for old in olds for new in news if old.percent == new.percent]
        equal = [
            (old, new)
            for old, new in equal
            if sum(o is old for o, _ in equal) == 1 and sum(n is new for _, n in equal) == 1
        ]
        rest_old = [old for old in olds if not any(old is o for o, _ in equal)]
        rest_new = [new for new in news if not any(new is n for _, n in equal)]
        found += equal
        found += zip(rest_old, rest_new, strict=False)
    return found


def _swaps(out: Sequence[Slot], come: Sequence[Slot]) -> list[tuple[Slot, Slot]]:
    """One out, one in, of the same phase and use; where two could be meant, neither is."""
    fits = [(o, n) for o in out for n in come if o.phase == n.phase and o.uses & n.uses]
    return [
        (old, new)
        for old, new in fits
        if sum(o is old for o, _ in fits) == 1 and sum(n is new for _, n in fits) == 1
    ]


def apply(changes: Iterable[Pair], start: Amounts) -> dict[tuple[str, str], Fraction | None]:
    """The amounts after the changes; those that nothing was done to stay."""
    found = dict(start)
    done = [pair for pair in changes if pair.change]
    for pair in done:
        if pair.before:
            del found[pair.before.key]
    for pair in done:
        if pair.after:
            found[pair.after.key] = pair.after.percent
    return found
