"""What the rows say of the suspects: chances afterwards, singly and two by two."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from functools import cached_property

from labbook.evidence.causes.likelihood import Likelihood
from labbook.evidence.causes.listing import (
    MOST_IN_FULL,
    MOST_SUSPECTS,
    Listed,
    list_pairs,
    list_sets,
)
from labbook.evidence.causes.subsets import single_sums, superset_sums
from labbook.evidence.causes.types import Rate, Row, Suspect, checked
from labbook.evidence.causes.weights import Weights, weigh

__all__ = ["ALL_SETS", "PAIRS_PRIOR", "Reckoning", "reckon"]

ALL_SETS = "all sets"
PAIRS_PRIOR = 0.1
"""That any pair acts which does nothing singly, before the rows are looked at."""
TOLD_APART = 10.0


@dataclass(frozen=True)
class Reckoning:
    """The chances of every suspect, and of something that isn't recorded, after the rows.

    `any_cause` is the chance that at least one suspect, or pair, is a cause; `any_cause_before` the
    same before the rows. `listed` says which sets were weighed. Positions are those of `suspects`;
    `left_out` holds the positions of suspects beyond the forty weighed, whose chance stands as 0.
    With pairs, a suspect's chance is that it acts on its own; `pair_acts` is the chance that any
    pair acts and `pairs` holds (i, j, chance), likeliest first.
    """

    suspects: tuple[Suspect, ...]
    rows: tuple[Row, ...]
    rate: Rate
    outside_before: float
    with_pairs: bool
    listed: str
    left_out: tuple[int, ...]
    any_cause_before: float
    weights: Weights
    likelihood: Likelihood
    weighed: tuple[Listed, tuple[int, ...]]
    """The listed sets in the order of the weights, and the suspects that their bits stand for."""

    def again(
        self,
        *,
        suspects: Sequence[Suspect] | None = None,
        rate: Rate | None = None,
        outside: float | None = None,
    ) -> Reckoning:
        """The same rows reckoned with other chances beforehand or another rate, in less time.

        Raises ValueError as `reckon` does.
        """
        chosen = self.suspects if suspects is None else tuple(suspects)
        before = self.outside_before if outside is None else outside
        checked(chosen, self.rows, before)
        return _reckoned(
            chosen, self.rows, rate or self.rate, before, self.with_pairs, self.likelihood
        )

    @cached_property
    def outside(self) -> float:
        """The chance that something outside the notebook makes batches fail."""
        return sum(self.weights.outside)

    @cached_property
    def any_cause(self) -> float:
        """The chance that any suspect or pair is a cause."""
        w = self.weights
        sets = zip(w.masks, w.pairs, self._whole, strict=True)
        return max(0.0, 1 - sum(chance for mask, pair, chance in sets if not mask and not pair))

    @cached_property
    def marginals(self) -> tuple[float, ...]:
        """Per suspect the chance that it is a cause."""
        w = self.weights
        return tuple(single_chances(len(self.suspects), self.weighed[1], w.masks, self._whole))

    def both(self, i: int, j: int) -> float:
        """The chance that suspects i and j are both causes."""
        return self._joint[i][j]

    def only(self, i: int, j: int) -> float:
        """The chance that suspect i is a cause and j is not."""
        return max(0.0, self._joint[i][i] - self._joint[i][j])

    def neither(self, i: int, j: int) -> float:
        """The chance that neither suspect i nor suspect j is a cause."""
        joint = self._joint
        return max(0.0, 1 - joint[i][i] - joint[j][j] + joint[i][j])

    def told_apart(self, i: int, j: int) -> bool:
        """Is i without j at least ten times as likely as j without i."""
        return self.only(i, j) >= TOLD_APART * self.only(j, i)

    @cached_property
    def pairs(self) -> tuple[tuple[int, int, float], ...]:
        """Every pair of suspects with the chance that it acts, likeliest first."""
        found: dict[int, float] = {}
        w = self.weights
        for pair, plain, outside in zip(w.pairs, w.plain, w.outside, strict=True):
            if pair:
                found[pair] = found.get(pair, 0.0) + plain + outside
        kept = self.weighed[1]
        named = []
        for pair, chance in found.items():
            i, j = (kept[x] for x in bits(pair))
            named.append((i, j, chance))
        return tuple(sorted(named, key=lambda x: (-x[2], x[0], x[1])))

    @cached_property
    def pair_acts(self) -> float:
        """The chance that any pair acts."""
        return sum(chance for _, _, chance in self.pairs)

    @cached_property
    def _joint(self) -> list[list[float]]:
        """The chance of each two suspects together; on the diagonal of each alone."""
        w = self.weights
        return joint_chances(len(self.suspects), self.weighed[1], w.masks, self._whole)

    @cached_property
    def _whole(self) -> list[float]:
        """The chance of each set, with and without something outside."""
        return [a + b for a, b in zip(self.weights.plain, self.weights.outside, strict=True)]


def bits(mask: int) -> tuple[int, ...]:
    """The positions of the bits that are set, from the lowest."""
    return tuple(i for i in range(mask.bit_length()) if mask >> i & 1)


def single_chances(
    size: int, kept: Sequence[int], masks: Sequence[int], chances: Sequence[float]
) -> list[float]:
    """Per suspect the sum of the chances of the sets that hold it."""
    found = [0.0] * size
    if len(kept) <= MOST_IN_FULL:
        for i, chance in zip(kept, single_sums(_by_mask(len(kept), masks, chances)), strict=True):
            found[i] = chance
        return found
    for mask, chance in zip(masks, chances, strict=True):
        while mask:
            low = mask & -mask
            found[kept[low.bit_length() - 1]] += chance
            mask ^= low
    return found


def joint_chances(
    size: int, kept: Sequence[int], masks: Sequence[int], chances: Sequence[float]
) -> list[list[float]]:
    """Per two suspects the sum of the chances of the sets that hold both."""
    joint = [[0.0] * size for _ in range(size)]
    if len(kept) <= MOST_IN_FULL:
        sums = _by_mask(len(kept), masks, chances)
        superset_sums(sums)
        for x, i in enumerate(kept):
            for y, j in enumerate(kept):
                joint[i][j] = sums[1 << x | 1 << y]
        return joint
    for mask, chance in zip(masks, chances, strict=True):
        held = [kept[x] for x in bits(mask)]
        for i in held:
            row = joint[i]
            for j in held:
                row[j] += chance
    return joint


def _by_mask(size: int, masks: Sequence[int], chances: Sequence[float]) -> list[float]:
    """The chances summed by mask, at the position of the mask."""
    sums = [0.0] * (1 << size)
    for mask, chance in zip(masks, chances, strict=True):
        sums[mask] += chance
    return sums


def reckon(
    suspects: Sequence[Suspect],
    rows: Sequence[Row],
    *,
    rate: Rate = "mixed",
    outside: float = 0.2,
    pairs: bool = False,
) -> Reckoning:
    """The chances of the suspects after the rows.

    `rate`: how often a true cause acts; `outside`: the chance beforehand that something that isn't
    recorded makes batches fail; `pairs`: also weigh two suspects that act only together. Raises
    ValueError where a chance isn't within [0, 1), a row's sides don't match the suspects, or there
    are more than 1000 rows.
    """
    suspects, rows = tuple(suspects), tuple(rows)
    checked(suspects, rows, outside)
    failed = sum(row.failed for row in rows)
    return _reckoned(suspects, rows, rate, outside, pairs, Likelihood(failed, len(rows) - failed))


def _reckoned(
    suspects: tuple[Suspect, ...],
    rows: tuple[Row, ...],
    rate: Rate,
    outside: float,
    pairs: bool,
    likelihood: Likelihood,
) -> Reckoning:
    kept = _most_suspect(suspects, rows, likelihood, rate)
    fewer = [suspects[i] for i in kept]
    cut = (
        rows
        if len(kept) == len(suspects)
        else tuple(Row(r.name, r.failed, tuple(r.sides[i] for i in kept)) for r in rows)
    )
    listed = list_sets(fewer, cut)
    if pairs and len(kept) > 1:
        listed = _together(listed, list_pairs(fewer, cut))
    nothing = sum(
        prior
        for mask, pair, prior in zip(listed.masks, listed.pairs, listed.priors, strict=True)
        if not mask and not pair
    )
    return Reckoning(
        suspects=suspects,
        rows=rows,
        rate=rate,
        outside_before=outside,
        with_pairs=pairs,
        listed=_which(len(kept), len(suspects), pairs),
        left_out=tuple(i for i in range(len(suspects)) if i not in set(kept)),
        any_cause_before=1 - nothing,
        weights=weigh(listed, likelihood, rate, outside),
        likelihood=likelihood,
        weighed=(listed, kept),
    )


def _most_suspect(
    suspects: Sequence[Suspect], rows: Sequence[Row], likelihood: Likelihood, rate: Rate
) -> tuple[int, ...]:
    """The positions of at most forty suspects: those likeliest if each were the only cause."""
    if len(suspects) <= MOST_SUSPECTS:
        return tuple(range(len(suspects)))
    alone = []
    for i, suspect in enumerate(suspects):
        only = list_sets([suspect], [Row(r.name, r.failed, (r.sides[i],)) for r in rows])
        chance = suspect.prior / (1 - suspect.prior) * likelihood.of(only.counted[1], rate)[0]
        alone.append((-chance, i))
    return tuple(sorted(i for _, i in sorted(alone)[:MOST_SUSPECTS]))


def _together(sets: Listed, pairs: Listed) -> Listed:
    """Sets without and with a pair; all with a pair have a tenth of the chances."""
    return Listed(
        sets.masks + pairs.masks,
        [x * (1 - PAIRS_PRIOR) for x in sets.priors] + [x * PAIRS_PRIOR for x in pairs.priors],
        sets.counted + pairs.counted,
        sets.pairs + pairs.pairs,
    )


def _which(weighed: int, given: int, pairs: bool) -> str:
    """In words, which sets of causes were weighed."""
    full = weighed <= MOST_IN_FULL
    words = ALL_SETS if full else f"up to four of {weighed}"
    if weighed < given:
        words += f", the likeliest of {given}"
    if pairs:
        words += f"; one pair with up to {'two' if full else 'one'} more"
    return words
