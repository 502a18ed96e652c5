"""Why each line of a formula changed: chosen, taken up for the others, or scaled with the others.

Under a common q.s. line typed figures are absolute: what was typed anew is deliberate and the q.s.
line balances. Without one the explanation with the fewest deliberate lines is taken; where two are
as good, it can't be told, and all of them are given. Added, removed, substituted and moved lines
are deliberate in every explanation.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from fractions import Fraction
from itertools import pairwise
from typing import Literal

from labbook.evidence.lines import Pair, Slot

Kind = Literal["deliberate", "balancing", "proportional", "undecided"]
ACTS = frozenset({"added", "removed", "substituted", "moved"})
WITNESS_DIGITS = 3
"""A figure of fewer significant digits fits too many ratios to bear witness to one."""


@dataclass(frozen=True, slots=True)
class Reading:
    """One explanation of the changed lines, by their index in the pairs.

    `balancing` took up the rest; `proportional` share the ratio, which the typed digits place
    between `least` and `most`; `held` kept their figure though the ratio would have changed it,
    which is an act too and counts as one.
    """

    deliberate: frozenset[int]
    balancing: int | None = None
    proportional: frozenset[int] = frozenset()
    held: frozenset[int] = frozenset()
    least: Fraction | None = None
    most: Fraction | None = None

    @property
    def count(self) -> int:
        """Lines that somebody decided on."""
        return len(self.deliberate) + len(self.held)

    def kind(self, index: int) -> Kind:
        """What the explanation says of a changed line."""
        if index in self.deliberate:
            return "deliberate"
        return "balancing" if index == self.balancing else "proportional"


@dataclass(frozen=True, slots=True)
class Kinds:
    """The kind of each pair, None where nothing was done or it isn't known; readings of a tie."""

    kinds: tuple[Kind | None, ...]
    readings: tuple[Reading, ...] = ()


def kinds_of(pairs: Sequence[Pair]) -> Kinds:
    """The kind of every pair of matched lines."""
    acts = frozenset(i for i, pair in enumerate(pairs) if pair.change in ACTS)
    changed = frozenset(i for i, pair in enumerate(pairs) if pair.change == "changed")
    found: dict[int, Kind | None] = dict.fromkeys(acts, "deliberate")
    readings: tuple[Reading, ...] = ()
    filling = [
        i for i, p in enumerate(pairs) if p.before and p.after and p.before.qs and p.after.qs
    ]
    if filling:
        for i in changed:
            found[i] = "balancing" if i in filling else _typed_anew(pairs[i])
    elif changed:
        best = _fewest(_explanations(pairs, acts, changed))
        readings = best if len(best) > 1 else ()
        unknown = any(pair.points is None for pair in pairs)
        for i in changed:
            kind: Kind | None = "undecided" if readings else best[0].kind(i)
            unsure = unknown and best[0].deliberate >= changed
            found[i] = None if unsure or pairs[i].points is None else kind
    return Kinds(tuple(found.get(i) for i in range(len(pairs))), readings)


def _typed_anew(pair: Pair) -> Kind | None:
    """A line beside a common q.s. line: chosen, unless its figure is missing on one side."""
    return None if pair.points is None else "deliberate"


def _fewest(readings: Sequence[Reading]) -> tuple[Reading, ...]:
    least = min(reading.count for reading in readings)
    return tuple(reading for reading in readings if reading.count == least)


def _explanations(
    pairs: Sequence[Pair], acts: frozenset[int], changed: frozenset[int]
) -> list[Reading]:
    """All ways to explain the changed lines; the last resort is that each was chosen."""
    taken_up = _one_took_up_the_rest(pairs, acts, changed)
    return [
        *(taken_up or [Reading(acts | changed)]),
        *_common_ratio(pairs, acts, changed),
    ]


def _one_took_up_the_rest(
    pairs: Sequence[Pair], acts: frozenset[int], changed: frozenset[int]
) -> list[Reading]:
    """Explanations in which one line's change is minus the sum of the others, water preferred."""
    points = [pair.points for pair in pairs]
    known = [p for p in points if p is not None]
    if len(known) < len(points) or sum(1 for p in known if p) < 2:
        return []
    off = abs(sum(known, Fraction()))
    fitting = [i for i in sorted(changed) if off <= _last_digit(pairs[i])]
    waters = [i for i in fitting if _is_water(pairs[i])]
    if not waters and any(known[i] and _stayed_water(pairs[i]) for i in acts):
        return [Reading(acts | changed)]
    chosen = waters or fitting
    return [Reading((acts | changed) - {i}, balancing=i) for i in chosen]


def _last_digit(pair: Pair) -> Fraction:
    """How far a line's change may be from minus the sum of the others, by its own typed digits."""
    assert pair.before and pair.after, "a changed line stands on both sides"
    return max(pair.before.half, pair.after.half)


def _is_water(pair: Pair) -> bool:
    return all(slot is not None and slot.is_water for slot in (pair.before, pair.after))


def _stayed_water(pair: Pair) -> bool:
    """A moved or substituted water: it takes up the rest, and was an act of its own as well."""
    return pair.change in ("moved", "substituted") and _is_water(pair)


# A common ratio ----------------------------------------------------------------------------------


@dataclass(frozen=True, slots=True)
class _Range:
    """The ratios that a line's typed digits allow; `most` is None without an upper end."""

    least: Fraction
    most: Fraction | None

    def allows(self, ratio: Fraction) -> bool:
        return self.least <= ratio and (self.most is None or ratio <= self.most)


def _common_ratio(
    pairs: Sequence[Pair], acts: frozenset[int], changed: frozenset[int]
) -> list[Reading]:
    """Explanations by one ratio to which two changed lines of three digits or more bear witness."""
    ranges: dict[int, _Range] = {}
    for i, pair in enumerate(pairs):
        if i not in acts and pair.before and pair.after:
            allowed = _ratios(pair.before, pair.after)
            if allowed:
                ranges[i] = allowed
    witnesses = {i for i in changed if i in ranges and _bears_witness(pairs[i])}
    found: dict[frozenset[int], Reading] = {}
    for ratio in _candidates(ranges.values()) if len(witnesses) > 1 else ():
        fitting = {i for i, allowed in ranges.items() if allowed.allows(ratio)}
        if len(witnesses & fitting) < 2:
            continue
        together = changed & fitting
        reading = _scaled(acts | (changed - together), together, ranges, fitting, changed)
        known = found.get(together)
        if known is None or reading.count < known.count:
            found[together] = reading
    return list(found.values())


def _scaled(
    deliberate: frozenset[int],
    together: frozenset[int],
    ranges: dict[int, _Range],
    fitting: set[int],
    changed: frozenset[int],
) -> Reading:
    tops = [top for i in fitting if (top := ranges[i].most) is not None]
    return Reading(
        deliberate=deliberate,
        proportional=together,
        held=frozenset(set(ranges) - fitting - changed),
        least=max(ranges[i].least for i in fitting),
        most=min(tops),
    )


def _bears_witness(pair: Pair) -> bool:
    sides = (pair.before, pair.after)
    return all(side is not None and side.digits >= WITNESS_DIGITS for side in sides)


def _ratios(before: Slot, after: Slot) -> _Range | None:
    """The ratios after ÷ before that the typed digits allow; None where an amount isn't known."""
    if before.percent is None or after.percent is None:
        return None
    low, high = before.percent - before.half, before.percent + before.half
    if high <= 0:
        return None
    least = max(Fraction(), after.percent - after.half) / high
    return _Range(least, (after.percent + after.half) / low if low > 0 else None)


def _candidates(ranges: Iterable[_Range]) -> list[Fraction]:
    """Ratios to try, none of them 1: the ends of all ranges, and one between each two ends."""
    ends = {end for r in ranges for end in (r.least, r.most) if end is not None}
    ends.add(Fraction(1))  # so that what lies on either side of it is tried
    between = {(low + high) / 2 for low, high in pairwise(sorted(ends))}
    return sorted((ends | between) - {Fraction(0), Fraction(1)})
