"""The weight of every listed set of causes after the rows."""

from __future__ import annotations

from dataclasses import dataclass
from itertools import accumulate

from labbook.evidence.causes.likelihood import Likelihood
from labbook.evidence.causes.listing import Listed
from labbook.evidence.causes.types import Rate

__all__ = ["Weights", "weigh"]

NEGLIGIBLE = 1e-10
"""Sets that together can't have more than this share are left at 0: they only cost time."""
QUICK = 100
"""With at most so many ways to place the undecided rows a set is weighed straight away."""


@dataclass(frozen=True, slots=True)
class Weights:
    """The sets of causes after the rows, each without and with something outside the notebook.

    `plain` and `outside` together sum to 1. `pairs` holds the mask of a pair, or 0.
    """

    masks: list[int]
    pairs: list[int]
    plain: list[float]
    outside: list[float]


def weigh(listed: Listed, likelihood: Likelihood, rate: Rate, outside: float) -> Weights:
    """The weights of the listed sets.

    Where many undecided rows make sets slow to weigh, those are put off and taken by what they can
    weigh at most, until the rest can't matter.
    """
    plain, with_outside = [0.0] * len(listed.masks), [0.0] * len(listed.masks)
    whole = 0.0
    put_off: list[tuple[float, int]] = []

    def take(at: int) -> float:
        without, having = likelihood.of(listed.counted[at], rate)
        plain[at] = listed.priors[at] * (1 - outside) * without
        with_outside[at] = listed.priors[at] * outside * having
        return plain[at] + with_outside[at]

    bounds: dict[tuple[int, int, int, int], float] = {}
    for at, counted in enumerate(listed.counted):
        if (counted[2] + 1) * (counted[3] + 1) <= QUICK:
            whole += take(at)
            continue
        if counted not in bounds:
            bounds[counted] = likelihood.at_most(counted, rate, outside)
        put_off.append((listed.priors[at] * bounds[counted], at))
    put_off.sort()
    left = list(accumulate(most for most, _ in put_off))
    while put_off and left[-1] > NEGLIGIBLE * whole:
        whole += take(put_off.pop()[1])
        left.pop()
    return Weights(
        listed.masks,
        listed.pairs,
        [x / whole for x in plain],
        [x / whole for x in with_outside],
    )
