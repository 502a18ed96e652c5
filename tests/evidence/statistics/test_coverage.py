"""What is told of simulated notebooks, with hazards that are known and plans that differ, holds.

Each check is run on the real reckoning, which has to pass, and on reckonings broken on purpose,
which have to fail the same check. Seeded, so that a run is the same each time.
"""

from __future__ import annotations

import random
from collections.abc import Callable, Sequence
from math import exp, log

import pytest

from labbook.evidence.counting import Unit, count
from labbook.evidence.statistics.comparison import compare
from labbook.evidence.statistics.exact import share
from labbook.evidence.statistics.intervals import Interval
from labbook.evidence.statistics.turnbull import Between, bounds_at
from labbook.model.results.looking import Count
from tests.evidence.statistics.outcomes import seen, watched

EARLY, LATE = (1, 7, 14, 28, 60, 90), (10, 30, 50, 75, 100)
DENSE = tuple(range(2, 101, 2))
AT = 45.0
TRUTHS = (0.85, 0.6, 0.3)
"""Shares intact at that age, one world after the other."""


def on_a_day(one: Interval, how: str) -> Interval:
    """The outcome with its failure put on one day: of its finding, or half way to it."""
    if one.high is None or how == "as seen":
        return one
    day = one.high if how == "upper bounds" else (one.low + one.high) / 2
    return Interval(max(day - 0.5, 0), day)


# The bounds of the curve -------------------------------------------------------------------------


def curve_covers(how: str, plans: Sequence[Sequence[float]], many: int, worlds: int) -> float:
    draw, hits = random.Random(11), 0
    for world in range(worlds):
        truth = TRUTHS[world % 3]
        outcomes = watched(draw, many, -log(truth) / AT, plans)
        found = bounds_at([on_a_day(one, how) for one in outcomes], AT)
        assert isinstance(found, Between)
        hits += found.low <= truth <= found.high
    return hits / worlds


def test_the_curves_bounds_cover_at_about_95_percent_where_looks_are_close() -> None:
    """45 is no day of a look; half of the batches are looked at every other day."""
    assert 0.91 <= curve_covers("as seen", [DENSE, DENSE[::2]], 30, 120) <= 0.985


@pytest.mark.parametrize("many", [8, 24, 80])
def test_the_curves_bounds_cover_where_looks_are_weeks_apart(many: int) -> None:
    """They are wider than they need be then; they are not narrower."""
    assert curve_covers("as seen", [EARLY, LATE], many, 90) >= 0.92


@pytest.mark.parametrize("how", ["upper bounds", "mid-points"])
def test_a_failure_put_on_one_day_does_not_cover(how: str) -> None:
    assert curve_covers(how, [EARLY, LATE], 80, 90) < 0.8


# The bounds of a count ---------------------------------------------------------------------------


def left_out(found: Count) -> tuple[float, float]:
    """Bounds broken on purpose: what isn't known is left out, as if that were by chance."""
    told = share(found.failed, found.of)
    return told.low, told.high


def as_told(found: Count) -> tuple[float, float]:
    return found.low, found.high


def count_covers(
    bounds: Callable[[Count], tuple[float, float]], how: str, many: int, worlds: int
) -> float:
    """How often a count's bounds hold the true share failed by the age that it counts to.

    Every other batch is watched by the later plan; all were made long enough ago.
    """
    draw, hits = random.Random(7), 0
    for world in range(worlds):
        hazard = -log(TRUTHS[world % 3]) / AT
        units = [
            Unit(str(n), on_a_day(seen(draw.expovariate(hazard), (EARLY, LATE)[n % 2]), how), 120)
            for n in range(many)
        ]
        found = count(
            units, what="batches", condition="room", group="separation", unit="days", least=100
        )
        assert found is not None
        low, high = bounds(found)
        hits += low <= 1 - exp(-hazard * found.until) <= high
    return hits / worlds


@pytest.mark.parametrize("many", [3, 8, 60])
def test_the_bounds_of_a_count_cover(many: int) -> None:
    assert count_covers(as_told, "as seen", many, 200) >= 0.94


def test_a_count_that_leaves_out_what_is_not_known_does_not_cover() -> None:
    """Of the early plan those that failed by day 100 are known and those that hold are not."""
    assert count_covers(left_out, "as seen", 60, 200) < 0.8


# Two groups --------------------------------------------------------------------------------------


def finds(how: str, worlds: int) -> float:
    """How often two groups with one hazard, and plans that differ, are told apart at a tenth."""
    draw, small = random.Random(3), 0
    for _ in range(worlds):
        one, other = (watched(draw, 7, 0.03, [plan]) for plan in (EARLY, (45, 100)))
        told = [[on_a_day(outcome, how) for outcome in group] for group in (one, other)]
        p = compare(told[0], told[1]).p
        assert p is not None
        small += p <= 0.1
    return small / worlds


def test_plans_that_differ_make_no_difference() -> None:
    """A tenth is expected by chance; of 100 worlds 18 or more would come once in a hundred."""
    assert finds("as seen", 100) <= 0.17
    assert finds("upper bounds", 100) > 0.3
