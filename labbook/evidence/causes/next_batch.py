"""Which one batch would tell most: what each setting of the suspects is worth, in bits.

The gain of a setting is the entropy of its predicted outcome less what would stay uncertain if the
causes were known. A set of causes sees only two kinds of setting, those that it acts on and those
that it doesn't, so sums over subsets give all 2^k settings at once.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass
from math import log2
from typing import Any

from labbook.evidence.causes.listing import MOST_IN_FULL
from labbook.evidence.causes.posterior import Reckoning, bits, single_chances
from labbook.evidence.causes.subsets import subset_sums

__all__ = ["Gain", "Outlook", "Setting", "after", "best_settings", "gains"]

Setting = tuple[bool, ...]
"""Per suspect: is the next batch on the failed side."""

NEAR = 0.05
"""Settings within so much of the best tell about as much."""


NEGLIGIBLE = 1e-8


@dataclass(frozen=True, slots=True)
class Gain:
    """What one setting would tell: bits, and the chance that the batch fails."""

    setting: Setting
    bits: float
    failure: float

    @property
    def changes(self) -> int:
        """In how many suspects it differs from the good batch."""
        return sum(self.setting)


@dataclass(frozen=True, slots=True)
class Outlook:
    """What one setting would tell, and the chances of all suspects after either outcome."""

    setting: Setting
    bits: float
    failure: float
    if_fails: tuple[float, ...]
    if_holds: tuple[float, ...]
    outside_if_fails: float
    outside_if_holds: float

    @property
    def changes(self) -> int:
        """In how many suspects it differs from the good batch."""
        return sum(self.setting)


@dataclass(frozen=True, slots=True)
class _Ahead:
    """Per set of causes: its chance, and the chance of it and a failure, by side.

    `acting` and `idle` are pairs, without and with something outside the notebook.
    """

    chances: list[float]
    acting: list[tuple[float, float]]
    idle: list[tuple[float, float]]


def entropy(p: float) -> float:
    """The entropy in bits of an event of probability p."""
    return 0.0 if p <= 0 or p >= 1 else -p * log2(p) - (1 - p) * log2(1 - p)


def _ahead(reckoning: Reckoning) -> _Ahead:
    """What every set of causes predicts of one more batch.

    The least likely sets, which hold a hundred-millionth of the chances together, aren't worked out
    and count as predicting one half, which no figure shows in its first seven digits.
    """
    w, likelihood, rate = reckoning.weights, reckoning.likelihood, reckoning.rate
    counted = reckoning.weighed[0].counted
    chances = [a + b for a, b in zip(w.plain, w.outside, strict=True)]
    acting = [(0.0, 0.0)] * len(chances)
    idle = list(acting)
    left = 0.0
    for at in sorted(range(len(chances)), key=chances.__getitem__):
        left += chances[at]
        if left < NEGLIGIBLE:
            acting[at] = idle[at] = (w.plain[at] / 2, w.outside[at] / 2)
            continue
        now, now_outside = likelihood.of(counted[at], rate)
        a, a_outside, b, b_outside = likelihood.failing_next(counted[at], rate)
        first = w.plain[at] / now if now else 0.0
        second = w.outside[at] / now_outside if now_outside else 0.0
        acting[at] = (first * a, second * a_outside)
        idle[at] = (first * b, second * b_outside)
    return _Ahead(chances, acting, idle)


def after(reckoning: Reckoning, setting: Sequence[bool]) -> Outlook:
    """What a batch with this setting would tell; raises ValueError for a wrong length."""
    return _outlook(reckoning, tuple(setting), _ahead(reckoning))


def _outlook(reckoning: Reckoning, setting: Setting, ahead: _Ahead) -> Outlook:
    if len(setting) != len(reckoning.suspects):
        raise ValueError(f"{len(setting)} sides for {len(reckoning.suspects)} suspects")
    w, kept = reckoning.weights, reckoning.weighed[1]
    chosen = sum(1 << x for x, i in enumerate(kept) if setting[i])
    fails, holds, known = [], [], 0.0
    outside_fails = 0.0
    sets = zip(w.masks, w.pairs, ahead.chances, ahead.acting, ahead.idle, strict=True)
    for mask, pair, chance, acting, idle in sets:
        acts = mask & chosen or (pair and pair & chosen == pair)
        plain, outside = acting if acts else idle
        fails.append(plain + outside)
        holds.append(max(0.0, chance - plain - outside))
        outside_fails += outside
        if chance:
            known += chance * entropy((plain + outside) / chance)
    failure, size = sum(fails), len(reckoning.suspects)

    def marginals(chances: Sequence[float]) -> tuple[float, ...]:
        whole = sum(chances)
        return tuple(x / whole for x in single_chances(size, kept, w.masks, chances))

    return Outlook(
        setting=setting,
        bits=max(0.0, entropy(failure) - known),
        failure=failure,
        if_fails=marginals(fails),
        if_holds=marginals(holds),
        outside_if_fails=outside_fails / failure,
        outside_if_holds=(reckoning.outside - outside_fails) / (1 - failure),
    )


def gains(
    reckoning: Reckoning, *, allowed: Callable[[Setting], bool] | None = None
) -> tuple[Gain, ...]:
    """Every allowed setting with at least one change, the one that tells most first.

    Beyond 14 suspects the 14 likeliest are varied and the others stay as in the good batch.
    """
    return tuple(g for g in _all_gains(reckoning, _ahead(reckoning)) if _ok(g, allowed))


def _ok(gain: Gain, allowed: Callable[[Setting], bool] | None) -> bool:
    return any(gain.setting) and (allowed is None or allowed(gain.setting))


def _all_gains(reckoning: Reckoning, ahead: _Ahead) -> list[Gain]:
    w, kept = reckoning.weights, reckoning.weighed[1]
    marginals = reckoning.marginals
    likeliest = sorted(range(len(kept)), key=lambda x: (-marginals[kept[x]], x))
    varied = sorted(likeliest[:MOST_IN_FULL])
    place = {x: at for at, x in enumerate(varied)}
    full = len(varied) == len(kept)
    size = 1 << len(varied)
    failing, unknown = [0.0] * size, [0.0] * size
    all_failing = all_unknown = 0.0

    def narrowed(mask: int) -> int:
        return mask if full else sum(1 << place[x] for x in bits(mask) if x in place)

    sets = zip(w.masks, w.pairs, ahead.chances, ahead.acting, ahead.idle, strict=True)
    for mask, pair, chance, acting, idle in sets:
        if not chance:
            continue
        acts, idles = sum(acting), sum(idle)
        sure, unsure = chance * entropy(acts / chance), chance * entropy(idles / chance)
        all_failing += acts
        all_unknown += sure
        for where, sign in _idle_within(mask, pair, narrowed, full or _inside(pair, place)):
            failing[where] += sign * (idles - acts)
            unknown[where] += sign * (unsure - sure)
    subset_sums(failing)
    subset_sums(unknown)
    found = []
    for setting in range(size):
        rest = size - 1 ^ setting
        p = all_failing + failing[rest]
        chosen = {kept[x] for x in varied if setting >> place[x] & 1}
        found.append(
            Gain(
                tuple(i in chosen for i in range(len(reckoning.suspects))),
                max(0.0, entropy(p) - all_unknown - unknown[rest]),
                p,
            )
        )
    return sorted(found, key=lambda g: (-g.bits, g.changes, g.setting))


def _inside(pair: int, place: dict[int, int]) -> bool:
    return all(x in place for x in bits(pair))


def _idle_within(
    mask: int, pair: int, narrowed: Callable[[int], int], varied: bool
) -> Iterable[tuple[int, int]]:
    """Masks, signed, whose subset sums say where a set doesn't act.

    It doesn't where all its single causes lie among the suspects left as they are and, if it has a
    pair, at least one of the two as well: the one, or the other, less both. A pair of which one is
    never varied can't act.
    """
    alone = narrowed(mask)
    if not pair or not varied:
        return ((alone, 1),)
    one, other = (1 << x for x in bits(pair))
    one, other = narrowed(one), narrowed(other)
    return ((alone | one, 1), (alone | other, 1), (alone | one | other, -1))


def best_settings(
    reckoning: Reckoning,
    *,
    allowed: Callable[[Setting], bool] | None = None,
    order: Callable[[Setting], Any] | None = None,
    most: int = 4,
) -> tuple[Outlook, ...]:
    """The setting to make next, then what could be made instead.

    First: among the allowed settings within 5 % of the best, the fewest changes against the good
    batch, then `order` (earliest answer, cost, name), then the most bits. After it the best setting
    of all if it is another one, then further ones by fewest changes and most bits, `most` in all.
    Empty where nothing is allowed. The good batch itself is no setting: the control repeats it.
    """
    ahead = _ahead(reckoning)
    found = [g for g in _all_gains(reckoning, ahead) if _ok(g, allowed)]
    if not found:
        return ()
    rank = order or (lambda setting: ())
    near = [g for g in found if g.bits >= (1 - NEAR) * found[0].bits]
    first = min(near, key=lambda g: (g.changes, rank(g.setting), -g.bits, g.setting))
    instead = [found[0], *sorted(found, key=lambda g: (g.changes, -g.bits, g.setting))]
    chosen = [first]
    for gain in instead:
        if len(chosen) < most and gain not in chosen:
            chosen.append(gain)
    return tuple(_outlook(reckoning, g.setting, ahead) for g in chosen)
