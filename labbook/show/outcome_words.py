"""What groups of batches tell of each other, and how their failures come with age, in sentences."""

from __future__ import annotations

from math import exp

from labbook.evidence.statistics.comparison import LEAST_PER_GROUP, Comparison
from labbook.evidence.statistics.refusal import Refusal
from labbook.evidence.statistics.weibull import Weibull
from labbook.show.outcomes import point_words

TWO_SIDED = 1.959964
"""How many standard errors to either side hold 95 % of a normal distribution."""


def comparison_words(found: Comparison, group: str, what: str) -> str:
    """Two groups against each other; below 4 and 4 only what so few could show at best.

    Args:
        found: the comparison.
        group: the group of failure.
        what: batches or jars.
    """
    head = f"{found.first.name} against {found.second.name}, {group}: "
    if found.p is None:
        return (
            f"{head}{found.first.of} and {found.second.of} {what} carry no test, which takes"
            f" {LEAST_PER_GROUP} and {LEAST_PER_GROUP}; even the clearest result of so few could"
            f" be chance {chance_words(found.smallest_p)}"
        )
    sooner = found.first.name if found.score > 0 else found.second.name
    return (
        f"{head}{sooner} failed sooner; chance alone does as much {chance_words(found.p)}, and as"
        f" few as these could show {chance_words(found.smallest_p)} at best"
    )


def chance_words(p: float) -> str:
    """`1 time in 6`, `less than 1 time in 1000`."""
    if p >= 0.95:
        return "nearly always"
    return f"1 time in {round(1 / p)}" if p >= 0.001 else "less than 1 time in 1000"


def weibull_words(found: Weibull, unit: str) -> str:
    """How failures come with age, no further than somebody looked."""
    spread = exp(TWO_SIDED * found.shape_error)
    low, high = found.shape / spread, found.shape * spread
    if low > 1:
        how = "more and more often with age"
    elif high < 1:
        how = "less and less often with age"
    else:
        how = "more or less often with age, that can't be told yet"
    end = found.intact(found.until)
    assert not isinstance(end, Refusal)
    left = f"; {found.while_making} more failed while making" if found.while_making else ""
    return (
        f"{found.failed} of {found.of - found.while_making} failed, {how} (Weibull shape"
        f" {found.shape:.2g}, roughly {low:.2g} to {high:.2g}); by the curve"
        f" {(1 - end) * 100:.0f} % by {point_words(found.until, unit)}, the last look{left}"
    )
