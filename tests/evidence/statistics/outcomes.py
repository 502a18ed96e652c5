"""Random outcomes for the laws, and a simulated watching with hazards that are known."""

from __future__ import annotations

import random
from collections.abc import Sequence

from hypothesis import strategies as st

from labbook.evidence.statistics.intervals import Interval

AGES = st.integers(0, 12).map(float)
FAILED = st.tuples(AGES, st.integers(1, 6)).map(lambda p: Interval(p[0], p[0] + p[1]))
INTACT = AGES.map(lambda age: Interval(age, None))
MADE_BADLY = st.just(Interval(0.0, 0.0))
OUTCOME = st.one_of(FAILED, FAILED, INTACT, MADE_BADLY)


def groups(least: int = 1, most: int = 12) -> st.SearchStrategy[list[Interval]]:
    """Outcomes of so many batches, on a coarse grid of ages so that ties are frequent."""
    return st.lists(OUTCOME, min_size=least, max_size=most)


def seen(age: float, looks: Sequence[float]) -> Interval:
    """What looks at those ages see of something that fails at an age."""
    low = max((look for look in looks if look < age), default=0.0)
    return Interval(low, min((look for look in looks if look >= age), default=None))


def watched(
    draw: random.Random, many: int, hazard: float, plans: Sequence[Sequence[float]]
) -> list[Interval]:
    """Batches that fail at a constant hazard, each watched by one of the plans in turn."""
    return [seen(draw.expovariate(hazard), plans[i % len(plans)]) for i in range(many)]
