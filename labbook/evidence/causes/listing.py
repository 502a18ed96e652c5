"""The sets of causes that are weighed, with their chances beforehand and what they say of the rows.

A set is a bit mask over the suspects, sometimes with one pair. Rows are bit masks too, over their
positions, so that what a set says of all rows are a few unions and counts of bits.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from itertools import combinations
from math import prod

from labbook.evidence.causes.likelihood import Counted
from labbook.evidence.causes.types import Row, Suspect

__all__ = ["MOST_IN_FULL", "MOST_SUSPECTS", "Listed", "Sides", "list_pairs", "list_sets"]

MOST_IN_FULL = 14
"""So many suspects give 16,384 sets, all of which are weighed."""
MOST_SUSPECTS = 40
LARGEST_SET = 4
"""Beyond 14 suspects sets of up to four: 102,091 of them for 40."""


@dataclass(frozen=True, slots=True)
class Sides:
    """Which rows, as bits, a suspect or a set of them puts on the failed side or leaves open."""

    failed: int
    loose: int


@dataclass(frozen=True, slots=True)
class Listed:
    """Sets of causes: their masks, chances, counts and, for each, the mask of a pair or 0."""

    masks: list[int]
    priors: list[float]
    counted: list[Counted]
    pairs: list[int]


def sides_of(rows: Sequence[Row], i: int) -> Sides:
    """The rows that suspect i puts on the failed side, and those that it leaves open."""
    failed = loose = 0
    for at, row in enumerate(rows):
        if row.sides[i] is None:
            loose |= 1 << at
        elif row.sides[i]:
            failed |= 1 << at
    return Sides(failed, loose)


def list_sets(suspects: Sequence[Suspect], rows: Sequence[Row]) -> Listed:
    """Every set of suspects up to 14 of them; beyond that every set of up to four.

    With all sets, the position of a set is its mask. Chances of the listed sets sum to 1.
    """
    sides = [sides_of(rows, i) for i in range(len(suspects))]
    if len(suspects) <= MOST_IN_FULL:
        masks, priors, failed, loose = [0], [1.0], [0], [0]
        for i, (suspect, side) in enumerate(zip(suspects, sides, strict=True)):
            masks += [mask | 1 << i for mask in masks]
            failed += [x | side.failed for x in failed]
            loose += [x | side.loose for x in loose]
            p = suspect.prior
            priors = [x * (1 - p) for x in priors] + [x * p for x in priors]
    else:
        masks, priors, failed, loose = [], [], [], []
        for mask, odds, side in _small_sets(suspects, sides):
            masks.append(mask)
            priors.append(odds)
            failed.append(side.failed)
            loose.append(side.loose)
        whole = sum(priors)
        priors = [x / whole for x in priors]
    return Listed(masks, priors, _counted(rows, failed, loose), [0] * len(masks))


def _small_sets(
    suspects: Sequence[Suspect], sides: Sequence[Sides]
) -> Iterator[tuple[int, float, Sides]]:
    """Sets of up to four suspects, with their odds against the empty set and their sides."""
    level = [(0, 1.0, 0, 0, 0)]
    odds = [s.prior / (1 - s.prior) for s in suspects]
    for _ in range(LARGEST_SET + 1):
        further = []
        for mask, chance, failed, loose, start in level:
            yield mask, chance, Sides(failed, loose)
            further += [
                (
                    mask | 1 << i,
                    chance * odds[i],
                    failed | sides[i].failed,
                    loose | sides[i].loose,
                    i + 1,
                )
                for i in range(start, len(suspects))
            ]
        level = further


def list_pairs(suspects: Sequence[Suspect], rows: Sequence[Row]) -> Listed:
    """Sets with one pair that acts only together, and up to two more suspects that act alone.

    Beyond 14 suspects up to one more. A pair acts where both of its suspects are on the failed
    side; it is open where neither is on the other side and one is open. No suspect stands alone
    beside a pair that it belongs to. Each pair is equally likely at first; chances sum to 1 over
    what is listed.
    """
    k = len(suspects)
    sides = [sides_of(rows, i) for i in range(k)]
    odds = [s.prior / (1 - s.prior) for s in suspects]
    beside = 2 if k <= MOST_IN_FULL else 1
    masks, priors, failed, loose, pairs = [], [], [], [], []
    for i, j in combinations(range(k), 2):
        together = _together(sides[i], sides[j])
        others = [x for x in range(k) if x not in (i, j)]
        for size in range(beside + 1):
            for more in combinations(others, size):
                masks.append(sum(1 << x for x in more))
                priors.append(prod(odds[x] for x in more))
                on_failed, open_ = together.failed, together.loose
                for x in more:
                    on_failed |= sides[x].failed
                    open_ |= sides[x].loose
                failed.append(on_failed)
                loose.append(open_)
                pairs.append(1 << i | 1 << j)
    whole = sum(priors)
    return Listed(masks, [x / whole for x in priors], _counted(rows, failed, loose), pairs)


def _together(one: Sides, other: Sides) -> Sides:
    failed = one.failed & other.failed
    possible = (one.failed | one.loose) & (other.failed | other.loose)
    return Sides(failed, possible & ~failed)


def _counted(rows: Sequence[Row], failed: Sequence[int], loose: Sequence[int]) -> list[Counted]:
    """Per set the four counts that its likelihood hangs on."""
    bad = sum(1 << at for at, row in enumerate(rows) if row.failed)
    good = (1 << len(rows)) - 1 ^ bad
    return [
        (
            (f & bad).bit_count(),
            (f & good).bit_count(),
            (u & ~f & bad).bit_count(),
            (u & ~f & good).bit_count(),
        )
        for f, u in zip(failed, loose, strict=True)
    ]
